"""Plain looks of a section answered by one tap: what may be, what never is, and what the record says of it."""

import pytest

from garage.record.models import TrailEntry
from jobs.checklists.actions import EntryRefusedError
from jobs.checklists.models import Entry, Outcome
from jobs.checklists.queries import bench_record_rows
from jobs.models import Job
from tests.checklists.factories import enter, sheet_with
from tests.checklists.test_tablet import message, send
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db

BRUSH = {"key": "brush", "kind": "choice", "choices": ["steady", "swings"], "good_choices": ["steady"]}
# None of these says by a look alone, and for nobody's safety, that it is in order.
TO_ANSWER_BY_ITSELF = {
    "hold point": {"hold_point": True},
    "second check": {"second_person": True},
    "item with a caution": {"caution": "Rings and watch off."},
    "figure": {"kind": "measure", "unit": "V"},
    "photograph": {"kind": "photo"},
    "text": {"kind": "text"},
    "choice with two answers that pass": {
        "kind": "choice", "choices": ["dry", "weeps", "wet"], "good_choices": ["dry", "weeps"],
    },
    "item held against the car's record": {
        "kind": "choice", "choices": ["4", "6"], "good_choices": ["4"], "car_fact": "cylinders",
    },
}  # fmt: skip


@pytest.fixture
def sheet(mechanic):
    return sheet_with([{"key": "fuse"}, {"key": "strap"}, BRUSH], person=mechanic)


def rows_of(sheet):
    """The lines of the bench record."""
    return bench_record_rows(Job.objects.get(pk=sheet.job_id))[0]["sections"][0]["rows"]


def test_looks_answered_together_are_entries_of_their_own_and_say_so(sheet, mechanic, browser_of):
    client = browser_of(mechanic)
    for key, more in (("fuse", {}), ("strap", {}), ("brush", {"choice": "steady"})):
        assert send(client, sheet, message(mechanic, key, together=3, **more)).status_code == 200
    assert list(Entry.objects.values_list("together", flat=True)) == [3, 3, 3]
    assert "Fuse: done, answered together, 3 items" in {line.sentence for line in TrailEntry.objects.all()}
    assert [row["by"] for row in rows_of(sheet)] == ["Ines Marlow, answered together, 3 items"] * 3


def test_a_message_of_several_sent_again_is_the_same_entry(sheet, mechanic, browser_of):
    client, sent = browser_of(mechanic), message(mechanic, "fuse", together=2)
    assert [send(client, sheet, sent).status_code for _ in range(2)] == [200, 200]
    assert send(client, sheet, sent | {"together": None}).status_code == 422
    assert Entry.objects.count() == 1


@pytest.mark.parametrize("row", TO_ANSWER_BY_ITSELF.values(), ids=TO_ANSWER_BY_ITSELF)
def test_what_is_no_plain_look_is_answered_by_itself(row, mechanic):
    sheet = sheet_with([{"key": "thing", **row}, {"key": "fuse"}], person=mechanic)
    answer = {"choice": row["good_choices"][0]} if "good_choices" in row else {}
    with pytest.raises(EntryRefusedError, match="cannot be answered together"):
        enter(sheet, "thing", mechanic, together=2, **_answer_of(row) | answer)
    assert not Entry.objects.exists()


def _answer_of(row):
    return {"measure": {"measure": 12.0}, "text": {"text": "two turns"}}.get(row.get("kind"), {})


@pytest.mark.parametrize("said", [{"choice": "swings"}, {"choice": "steady", "note": "a little"}, {"together": 1}])
def test_together_is_never_said_of_anything_but_in_order(said, sheet, mechanic):
    with pytest.raises(EntryRefusedError, match="cannot be answered together"):
        enter(sheet, "brush", mechanic, **{"choice": "steady", "together": 2, **said})


@pytest.mark.parametrize("outcome", [Outcome.DONE, Outcome.NOTED])
def test_an_item_that_somebody_answered_meanwhile_keeps_that_answer(outcome, sheet, mechanic, second_mechanic):
    enter(sheet, "fuse", second_mechanic, note="8 A, by the heater", outcome=outcome)
    with pytest.raises(EntryRefusedError, match="answered by itself meanwhile"):
        enter(sheet, "fuse", mechanic, together=2)
    assert Entry.objects.get().by == second_mechanic


def test_an_item_answered_together_can_be_answered_otherwise_after(sheet, mechanic):
    first = enter(sheet, "strap", mechanic, together=2)
    enter(sheet, "strap", mechanic, outcome=Outcome.NOT_POSSIBLE, note="cut through", replaces=[first.pk])
    row = next(row for row in rows_of(sheet) if row["key"] == "strap")
    assert (row["verdict"], row["by"]) == ("not possible", "Ines Marlow")


@pytest.mark.parametrize("count", ["two", -1, 1000, True])
def test_a_message_that_counts_nonsense_is_refused(count, sheet, mechanic, browser_of):
    assert send(browser_of(mechanic), sheet, message(mechanic, "fuse", together=count)).status_code == 422


BEFORE = [{"key": "leads", "kind": "text"}, {"key": "gap", "kind": "measure", "unit": "mm"}]


@pytest.fixture
def found(mechanic):
    """A fitting sheet whose items the inspection has answered."""
    job = JobFactory(stage="fitting")
    before = sheet_with(BEFORE, person=mechanic, job=job, kind="inspection")
    answers = [enter(before, "leads", mechanic, text="new, suppressed"), enter(before, "gap", mechanic, measure=0.6)]
    rows = [row | {"inspection_key": row["key"]} for row in BEFORE]
    return sheet_with(rows, person=mechanic, job=job), answers


def test_what_the_inspection_found_is_confirmed_together_each_by_an_entry_of_its_own(found, mechanic):
    sheet, (leads, gap) = found
    enter(sheet, "leads", mechanic, text="new, suppressed", confirms=leads.pk, together=2)
    enter(sheet, "gap", mechanic, measure=0.6, confirms=gap.pk, together=2)
    said = [entry.together for entry in Entry.objects.filter(sheet=sheet)]
    assert said == [2, 2]


@pytest.mark.parametrize("protects", [{"hold_point": True}, {"second_person": True}, {"caution": "Rings off."}])
def test_what_protects_somebody_is_confirmed_by_itself(protects, mechanic):
    job = JobFactory(stage="fitting")
    before = enter(
        sheet_with(BEFORE, person=mechanic, job=job, kind="inspection"), "leads", mechanic, text="new, suppressed"
    )
    row = BEFORE[0] | {"inspection_key": "leads"} | protects
    sheet = sheet_with([row], person=mechanic, job=job)
    with pytest.raises(EntryRefusedError, match="Answer it by itself"):
        enter(sheet, "leads", mechanic, text="new, suppressed", confirms=before.pk, together=2)
