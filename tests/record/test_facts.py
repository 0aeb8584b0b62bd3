"""Facts are appended once, whoever sends them how often, and taken back by another fact that supersedes them."""

import ast
import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.apps import apps

from garage.record.append import append, withdraw
from garage.record.facts import RecordedFact, WithdrawableFact, current
from garage.record.idempotency import SentBeforeError
from jobs.costs.models import CostLine
from jobs.strobe.models import StrobeReading
from tests.factories import JobFactory, StaffFactory
from tests.jobs_factories import proven_version

ROOT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture
def rotor_arm(actor) -> CostLine:
    return entered(actor)


def entered(actor, **more) -> CostLine:
    values = {
        "id": uuid.uuid4(), "job": JobFactory(), "kind": "part", "description": "Rotor arm",
        "quantity": Decimal(1), "unit_price": Decimal("12.40"),
    }  # fmt: skip
    line, _ = append(CostLine, actor=actor, **values | more)
    return line


def test_a_fact_sent_twice_is_one_fact_as_it_was_first_written(actor, rotor_arm):
    later = replace(actor, person=StaffFactory(), at=actor.at + timedelta(minutes=5))
    same, is_new = append(
        CostLine, id=rotor_arm.pk, actor=later, job=rotor_arm.job, kind="part", description="Rotor arm",
        quantity=Decimal(1), unit_price=Decimal("12.40"),
    )  # fmt: skip
    assert (same, same.by, is_new) == (rotor_arm, actor.person, False)


def test_the_same_id_with_another_price_is_refused(actor, rotor_arm):
    with pytest.raises(SentBeforeError):
        entered(actor, id=rotor_arm.pk, job=rotor_arm.job, unit_price=Decimal(99))
    assert CostLine.objects.get().unit_price == Decimal("12.40")


def test_what_waited_on_a_tablet_says_when_it_was_made_and_when_it_came_in(actor):
    made = actor.at - timedelta(hours=2)
    line = entered(actor, made_at=made)
    assert (line.made_at, line.received_at) == (made, actor.at)


def test_a_clock_that_is_ahead_dates_nothing_later_than_it_came_in(actor):
    assert entered(actor, made_at=actor.at + timedelta(days=1)).made_at == actor.at


def test_what_is_taken_back_counts_no_more_and_stays_with_all_its_figures(actor, rotor_arm):
    later = replace(actor, person=StaffFactory(), at=actor.at + timedelta(minutes=5))
    assert withdraw(rotor_arm, actor=later)
    first, second = CostLine.objects.order_by("made_at")
    assert current([first, second]) == []
    assert (first, second.supersedes, second.withdrawn) == (rotor_arm, first, True)
    assert (first.by, second.by, second.made_at) == (actor.person, later.person, later.at)
    figures = ("job", "kind", "description", "quantity", "unit_price")
    assert [getattr(second, name) for name in figures] == [getattr(first, name) for name in figures]


def test_taking_back_twice_is_once(actor, rotor_arm):
    assert [withdraw(rotor_arm, actor=actor) for _ in range(2)] == [True, False]
    assert CostLine.objects.count() == 2


def test_a_reading_is_taken_back_with_its_vacuum_and_the_unit_it_was_read_in(actor):
    job = proven_version(actor).job
    session = job.strobe_sessions.create(
        purpose="base timing", base_deg=8, tolerance_deg=1.0, begun_at=actor.at, begun_by=actor.person
    )
    reading, _ = append(
        StrobeReading, id=uuid.uuid4(), actor=actor, session=session, rpm=2000, measured_deg=22, expected_deg=21,
        vacuum_kpa=40.6, vacuum_unit="inHg",
    )  # fmt: skip
    withdraw(reading, actor=actor)
    taken_back = StrobeReading.objects.get(withdrawn=True)
    assert (taken_back.session, taken_back.rpm, taken_back.vacuum_kpa, taken_back.vacuum_unit) == (
        session, 2000, 40.6, "inHg",
    )  # fmt: skip


def test_every_fact_that_can_be_taken_back_is_taken_back_in_the_one_way():
    """A column of that name on a fact of another base would be a second way."""
    marked = [model for model in apps.get_models() if "withdrawn" in {field.name for field in model._meta.fields}]
    assert len(marked) >= 5
    assert [model for model in marked if not issubclass(model, WithdrawableFact)] == []


def test_no_room_writes_a_fact_past_the_one_way():
    """Read from the code: `Fact.objects.create` and its like, for any model of facts, in any room."""
    facts = {model.__name__ for model in apps.get_models() if issubclass(model, RecordedFact)}
    assert len(facts) > 8
    past = []
    for house in ("garage", "jobs"):
        for path in sorted((ROOT / house).glob("*/*.py")):
            for call in (node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.Call)):
                called = ast.unparse(call.func)
                model, _, way = called.partition(".objects.")
                if model in facts and way in {"create", "get_or_create", "update_or_create", "bulk_create"}:
                    past.append(f"{path.relative_to(ROOT)}: {called}")
                if called in facts:
                    past.append(f"{path.relative_to(ROOT)}: {called}")
    assert past == []
