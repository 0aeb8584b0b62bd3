"""A job with hours and parts on it, and rates to bill it at."""

import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from itertools import count

import pytest
from django.utils import timezone

from garage.models import Workshop
from garage.record.actor import Actor
from jobs.billing.actions import issue_bill, issue_credit_note
from jobs.billing.queries import lines_to_credit, to_bill
from jobs.costs.actions import enter_cost
from jobs.vat.actions import add_rate
from jobs.vat.models import VatRate
from tests.factories import JobFactory


@pytest.fixture
def desk(front_desk) -> Actor:
    return Actor(person=front_desk, at=timezone.now())


@pytest.fixture
def standard(desk) -> VatRate:
    return add_rate(name="Standard", percent=Decimal(20), wording="", idempotency_key=uuid.uuid4(), actor=desk)


@pytest.fixture
def exempt(desk, standard) -> VatRate:
    return add_rate(
        name="Exempt",
        percent=Decimal(0),
        wording="No VAT: work abroad, section 4 of the code.",
        idempotency_key=uuid.uuid4(),
        actor=desk,
    )


@pytest.fixture
def entered(desk):
    """`entered(job, "part", "Rotor arm", "1", "12.40")`: a line of hours or of a part, each a moment after the last."""
    moments = (replace(desk, at=desk.at - timedelta(seconds=60 - number)) for number in count())

    def enter(job, kind, description, quantity, price):
        return enter_cost(
            job=job,
            id=uuid.uuid4(),
            kind=kind,
            description=description,
            quantity=Decimal(quantity),
            unit_price=Decimal(price),
            actor=next(moments),
        )

    return enter


@pytest.fixture
def job(entered):
    """Two hours and a half at 64.00, and a rotor arm at 12.40: 172.40 before VAT."""
    job = JobFactory(vehicle__customer__name="Mira Holt", vehicle__customer__address="4 Quarry Lane\nLockgate")
    entered(job, "hours", "Fitting and base timing", "2.5", "64.00")
    entered(job, "part", "Rotor arm", "1", "12.40")
    return job


@pytest.fixture
def paper_at_once(monkeypatch):
    """The PDF stands for itself where a test looks at numbers and sums: setting one takes a second."""
    monkeypatch.setattr("jobs.billing.actions.set_bill", lambda facts: f"%PDF of {facts['number']}".encode())


@pytest.fixture
def billed(desk, standard, paper_at_once):
    """`billed(job)`: a bill of everything on it at the standard rate."""

    def bill(job, actor=desk, **more):
        today = timezone.localdate(actor.at)
        values = {
            "rates": {line.pk: standard for line in to_bill(job)},
            "supplied_on": today,
            "due_on": today + timedelta(days=14),
            "remarks": "",
            "idempotency_key": uuid.uuid4(),
        }
        return issue_bill(job=job, actor=actor, **values | more)

    return bill


@pytest.fixture
def credited(desk, paper_at_once):
    """`credited(bill)`: a credit note on all of it, or on the `lines` named."""

    def credit(bill, lines=None, **more):
        values = {"reason": "Billed to the wrong person", "idempotency_key": uuid.uuid4(), "actor": desk}
        chosen = [line.pk for line in lines_to_credit(bill)] if lines is None else lines
        return issue_credit_note(bill=bill, lines=chosen, **values | more)

    return credit


@pytest.fixture
def in_form(workshop):
    """`in_form("R-YY####")`: the workshop's own form of bill numbers."""
    return lambda text: Workshop.objects.update(bill_numbers=text)
