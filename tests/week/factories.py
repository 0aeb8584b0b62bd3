"""Cars and people of a week. Its Monday is 30 November 2026."""

import uuid
from datetime import date, timedelta

from garage.rota.actions import enter_absence
from tests.factories import JobFactory, VehicleFactory

MONDAY = date(2026, 11, 30)


def day(number: int) -> date:
    """Monday is 0; -3 is the Friday before."""
    return MONDAY + timedelta(days=number)


def car(plate: str, **columns):
    return JobFactory(vehicle=VehicleFactory(registration=plate), **columns)


def away(person, first: int, last: int, actor):
    return enter_absence(
        person=person, first_day=day(first), last_day=day(last), idempotency_key=uuid.uuid4(), actor=actor
    )
