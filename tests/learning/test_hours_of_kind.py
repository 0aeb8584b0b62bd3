"""How long the jobs of a kind really took: offered beside a quote."""

import uuid
from decimal import Decimal

from jobs.costs.actions import enter_cost
from jobs.learning.hours import hours_of_kind
from tests.factories import JobFactory


def took(actor, hours, **more):
    job = JobFactory(**{"kind": "check", "stage": "after-care"} | more)
    for part in hours:
        enter_cost(
            job=job, id=uuid.uuid4(), kind="hours", description="Check", quantity=Decimal(part),
            unit_price=Decimal(60), actor=actor,
        )  # fmt: skip
    return job


def test_it_is_told_from_three_jobs_on_that_are_handed_over_and_of_the_same_kind(actor):
    asked = JobFactory(kind="check")
    took(actor, ["2", "1"])
    took(actor, ["4"])
    took(actor, ["90"], kind="conversion")
    took(actor, ["90"], stage="handover")
    assert hours_of_kind("check", but=asked) is None
    took(actor, ["3.5"])
    found = hours_of_kind("check", but=asked)
    assert (found.count, found.lowest, found.median, found.highest) == (3, 3.0, 3.5, 4.0)
