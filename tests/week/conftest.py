"""A Monday morning in the workshop."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
import time_machine

from garage.record.actor import Actor
from tests.factories import DeviceFactory


@pytest.fixture(autouse=True)
def monday_morning() -> Iterator[None]:
    with time_machine.travel(datetime(2026, 11, 30, 9, 0, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def planner(monday_morning, front_desk) -> Actor:
    """The desk, on Monday morning."""
    return Actor(person=front_desk, at=datetime(2026, 11, 30, 9, 0, tzinfo=UTC), device=DeviceFactory())
