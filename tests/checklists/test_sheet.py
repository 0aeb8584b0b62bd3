"""What a sheet says of a car, from what was entered on it. Rules of the trade: handbook, section 11."""

import uuid

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from garage.record.models import TrailEntry
from jobs.checklists import queries
from jobs.checklists.actions import EntryRefusedError, begin_sheet, move_to_revision
from jobs.checklists.models import Confirmation, Entry, Outcome, SheetKind
from jobs.checklists.second_check_actions import confirm_entry
from jobs.checklists.sheet import sheet_of
from jobs.job.models import JobState
from tests.checklists.factories import enter, published_list, published_revision, sheet_with, signed_by
from tests.factories import JobFactory, fact_of

pytestmark = pytest.mark.django_db

COIL = {
    "key": "coil",
    "kind": "measure",
    "text": "Coil primary",
    "unit": "ohm",
    "low": 1.35,
    "high": 1.65,
    "decimals": 2,
}
HOLD = {"key": "lock", "text": "Advance locked", "hold_point": True}


def line(sheet, key):
    return sheet_of(type(sheet).objects.get(pk=sheet.pk)).line(key)


@pytest.mark.parametrize(
    ("low", "high", "figure", "mark", "words"),
    [
        # bands of the handbook's order of work, at and just past their ends
        (12.4, 12.8, 12.4, "good", "pass"),
        (12.4, 12.8, 12.8, "good", "pass"),
        (12.4, 12.8, 12.39, "stop", "fail, low"),
        (12.4, 12.8, 12.81, "stop", "fail, high"),
        (None, 0.5, 0.5, "good", "pass"),
        (None, 0.5, 0.51, "stop", "fail, high"),
        (1.0, None, 1.0, "good", "pass"),
        (1.0, None, 0.99, "stop", "fail, low"),
        (None, None, 999.0, "good", "recorded"),
    ],
)
def test_a_figure_is_in_tolerance_from_limit_to_limit_both_included(mechanic, low, high, figure, mark, words):
    sheet = sheet_with([{"key": "it", "kind": "measure", "unit": "V", "low": low, "high": high}], person=mechanic)
    enter(sheet, "it", mechanic, measure=figure)
    verdict = line(sheet, "it").verdict
    assert (verdict.mark, verdict.words) == (mark, words)


def test_a_choice_outside_the_good_ones_is_out_of_tolerance(mechanic):
    row = {"key": "cap", "kind": "choice", "choices": ["sound", "tracked"], "good_choices": ["sound"]}
    sheet = sheet_with([row], person=mechanic)
    enter(sheet, "cap", mechanic, choice="tracked")
    assert line(sheet, "cap").verdict.words == "fail"


def test_the_same_id_twice_is_one_entry(mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    again = uuid.uuid4()
    first = enter(sheet, "coil", mechanic, id=again, measure=1.5)
    second = enter(sheet, "coil", mechanic, id=again, measure=1.5)
    assert (first, Entry.objects.count(), TrailEntry.objects.filter(event="sheet-entry").count()) == (second, 1, 1)


def test_an_id_that_belongs_to_somebody_elses_entry_is_refused(mechanic, second_mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    taken = enter(sheet, "coil", mechanic, measure=1.5)
    with pytest.raises(EntryRefusedError, match="sent twice"):
        enter(sheet, "coil", second_mechanic, id=taken.pk, measure=1.6)


def test_correcting_keeps_the_first_entry_and_shows_the_second(mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    first = enter(sheet, "coil", mechanic, measure=1.8)
    enter(sheet, "coil", mechanic, measure=1.5, replaces=[first.pk])
    found = line(sheet, "coil")
    assert [entry.measure for entry in found.history] == [1.8, 1.5]
    assert found.current.measure == 1.5


def test_taking_back_opens_the_item_again(mechanic):
    sheet = sheet_with([{"key": "fuse"}], person=mechanic)
    ticked = enter(sheet, "fuse", mechanic)
    enter(sheet, "fuse", mechanic, outcome=Outcome.WITHDRAWN, replaces=[ticked.pk])
    found = line(sheet, "fuse")
    assert found.is_open
    assert len(found.history) == 2


def test_two_who_entered_unseen_are_both_kept_and_shown(mechanic, second_mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    enter(sheet, "coil", mechanic, measure=1.5)
    enter(sheet, "coil", second_mechanic, measure=1.6)
    found = line(sheet, "coil")
    assert found.is_conflict
    assert [entry.measure for entry in found.standing] == [1.5, 1.6]
    assert not found.is_done


def test_two_corrections_of_one_entry_are_both_kept_and_shown(mechanic, second_mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    first = enter(sheet, "coil", mechanic, measure=1.8)
    enter(sheet, "coil", mechanic, measure=1.5, replaces=[first.pk])
    enter(sheet, "coil", second_mechanic, measure=1.4, replaces=[first.pk])
    assert {entry.measure for entry in line(sheet, "coil").standing} == {1.5, 1.4}


def test_two_who_found_the_same_do_not_disagree(mechanic, second_mechanic):
    sheet = sheet_with([{"key": "fuse"}], person=mechanic)
    enter(sheet, "fuse", mechanic)
    enter(sheet, "fuse", second_mechanic)
    assert line(sheet, "fuse").is_done


def test_keeping_one_of_two_entries_takes_the_other_back_and_keeps_it_in_the_history(mechanic, second_mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    kept = enter(sheet, "coil", mechanic, measure=1.5)
    other = enter(sheet, "coil", second_mechanic, measure=1.6)
    enter(sheet, "coil", mechanic, outcome=Outcome.WITHDRAWN, replaces=[other.pk])
    found = line(sheet, "coil")
    assert found.standing == [kept]
    assert other in found.history


def test_a_correction_of_two_agreeing_entries_leaves_only_itself(mechanic, second_mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    both = [enter(sheet, "coil", person, measure=1.5).pk for person in (mechanic, second_mechanic)]
    corrected = enter(sheet, "coil", mechanic, measure=1.45, replaces=both)
    assert line(sheet, "coil").standing == [corrected]


def test_an_entry_whose_forerunner_was_refused_is_still_taken(mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    enter(sheet, "coil", mechanic, measure=1.5, replaces=[uuid.uuid4()])
    assert line(sheet, "coil").current.measure == 1.5


def test_nothing_after_an_open_hold_point_is_taken(mechanic):
    sheet = sheet_with([HOLD, {"key": "wire"}], person=mechanic)
    with pytest.raises(EntryRefusedError, match="Advance locked"):
        enter(sheet, "wire", mechanic)
    enter(sheet, "lock", mechanic)
    assert enter(sheet, "wire", mechanic)


def test_a_hold_point_out_of_tolerance_still_holds(mechanic):
    overlap = {"key": "overlap", "kind": "measure", "unit": "mm", "low": 1.0, "hold_point": True}
    sheet = sheet_with([overlap, {"key": "wire"}], person=mechanic)
    first = enter(sheet, "overlap", mechanic, measure=0.8)
    with pytest.raises(EntryRefusedError, match="fail, low"):
        enter(sheet, "wire", mechanic)
    enter(sheet, "overlap", mechanic, measure=1.1, replaces=[first.pk])
    assert enter(sheet, "wire", mechanic)


def test_not_possible_does_not_open_a_hold_point(mechanic):
    sheet = sheet_with([HOLD, {"key": "wire"}], person=mechanic)
    enter(sheet, "lock", mechanic, outcome=Outcome.NOT_POSSIBLE, note="shaft seized")
    with pytest.raises(EntryRefusedError, match="not possible"):
        enter(sheet, "wire", mechanic)


def test_only_the_owner_lets_a_hold_point_pass_and_says_why(mechanic, owner):
    sheet = sheet_with([HOLD, {"key": "wire"}], person=mechanic)
    with pytest.raises(EntryRefusedError, match="Only the owner"):
        enter(sheet, "lock", mechanic, outcome=Outcome.LET_PASS, note="trust me")
    with pytest.raises(EntryRefusedError, match="give the reason"):
        enter(sheet, "lock", owner, outcome=Outcome.LET_PASS)
    enter(sheet, "lock", owner, outcome=Outcome.LET_PASS, note="locked by the rebuilder, seal intact")
    assert enter(sheet, "wire", mechanic)
    assert "overridden" in line(sheet, "lock").verdict.words


def test_a_hold_point_that_does_not_apply_to_the_car_holds_nothing_up(mechanic):
    job = JobFactory(stage="fitting", vehicle__earth_polarity="negative")
    sheet = sheet_with(
        [HOLD | {"applies": {"earth_polarity": ["positive"]}}, {"key": "wire"}], person=mechanic, job=job
    )
    assert enter(sheet, "wire", mechanic)


def test_an_item_for_two_people_is_not_done_by_one(mechanic, second_mechanic):
    sheet = sheet_with([{"key": "torque", "second_person": True}], person=mechanic)
    entry = enter(sheet, "torque", mechanic)
    assert line(sheet, "torque").waits_for_second
    confirm_entry(entry=entry, id=uuid.uuid4(), actor=signed_by(second_mechanic))
    assert line(sheet, "torque").is_done


def test_nobody_confirms_their_own_entry(mechanic):
    sheet = sheet_with([{"key": "torque", "second_person": True}], person=mechanic)
    entry = enter(sheet, "torque", mechanic)
    with pytest.raises(EntryRefusedError, match="you made this entry"):
        confirm_entry(entry=entry, id=uuid.uuid4(), actor=signed_by(mechanic))


def test_the_database_itself_refuses_people_who_confirm_their_own_entry(mechanic, actor):
    sheet = sheet_with([{"key": "torque", "second_person": True}], person=mechanic)
    entry = enter(sheet, "torque", mechanic)
    with pytest.raises(IntegrityError), transaction.atomic():
        Confirmation.objects.create(entry=entry, first_person=mechanic, **fact_of(actor))


def test_a_correction_wants_its_second_person_anew(mechanic, second_mechanic):
    sheet = sheet_with([COIL | {"second_person": True}], person=mechanic)
    first = enter(sheet, "coil", mechanic, measure=1.5)
    confirm_entry(entry=first, id=uuid.uuid4(), actor=signed_by(second_mechanic))
    enter(sheet, "coil", mechanic, measure=1.6, replaces=[first.pk])
    assert line(sheet, "coil").waits_for_second


@pytest.mark.parametrize(
    ("entry", "sentence"),
    [
        ({}, "enter the figure in ohm"),
        ({"measure": float("nan")}, "a figure between"),
        ({"measure": float("inf")}, "a figure between"),
        ({"measure": 1.5, "choice": "sound"}, "takes no choice"),
        ({"outcome": Outcome.NOT_POSSIBLE}, "give the reason"),
        ({"measure": 1.5, "note": "x" * 501}, "no more than 500"),
    ],
)
def test_what_makes_no_sense_for_a_measure_is_refused_with_a_sentence(mechanic, entry, sentence):
    sheet = sheet_with([COIL], person=mechanic)
    with pytest.raises(EntryRefusedError, match=sentence):
        enter(sheet, "coil", mechanic, **entry)
    assert not Entry.objects.exists()


def test_a_choice_that_is_not_offered_is_refused(mechanic):
    sheet = sheet_with([{"key": "cap", "kind": "choice", "choices": ["sound", "tracked"]}], person=mechanic)
    with pytest.raises(EntryRefusedError, match="sound, tracked"):
        enter(sheet, "cap", mechanic, choice="missing")


def test_an_abandoned_job_takes_no_entries(mechanic):
    job = JobFactory(stage="fitting")
    sheet = sheet_with([{"key": "fuse"}], person=mechanic, job=job)
    type(job).objects.filter(pk=job.pk).update(state=JobState.ABANDONED, state_reason="owner sold the car")
    with pytest.raises(EntryRefusedError, match="abandoned"):
        enter(sheet, "fuse", mechanic)


def test_an_entry_can_neither_be_changed_nor_deleted(mechanic):
    entry = enter(sheet_with([{"key": "fuse"}], person=mechanic), "fuse", mechanic)
    with pytest.raises(DatabaseError, match="kept for ever"), transaction.atomic():
        Entry.objects.filter(pk=entry.pk).update(note="never happened")
    with pytest.raises(DatabaseError, match="kept for ever"), transaction.atomic():
        Entry.objects.filter(pk=entry.pk).delete()


def test_every_entry_stands_in_the_journal_with_what_it_corrects(mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    first = enter(sheet, "coil", mechanic, measure=1.8)
    enter(sheet, "coil", mechanic, measure=1.5, replaces=[first.pk])
    sentences = list(TrailEntry.objects.filter(event="sheet-entry").values_list("sentence", flat=True))
    assert sentences == [
        "Coil primary: 1.80 ohm, fail, high (limit: 1.35 to 1.65 ohm)",
        "Coil primary: 1.50 ohm, pass; before: 1.80 ohm, fail, high (limit: 1.35 to 1.65 ohm), Ines Marlow",
    ]


def test_what_is_missing_is_said_in_words(mechanic, second_mechanic):
    rows = [
        HOLD,
        COIL,
        {"key": "torque", "second_person": True, "text": "Clamp torque"},
        {"key": "nice", "required": False},
    ]
    sheet = sheet_with(rows, person=mechanic)
    assert queries.sheet_progress(sheet.job, SheetKind.FITTING).missing == [
        "Advance locked",
        "Coil primary",
        "Clamp torque",
    ]
    enter(sheet, "lock", mechanic)
    enter(sheet, "coil", mechanic, measure=1.5)
    enter(sheet, "torque", mechanic)
    progress = queries.sheet_progress(sheet.job, SheetKind.FITTING)
    assert progress.missing == ["Clamp torque: second check needed"]
    assert (progress.done, progress.total) == (2, 4)


def test_a_measure_out_of_tolerance_that_is_no_hold_point_does_not_keep_the_car(mechanic):
    sheet = sheet_with([COIL], person=mechanic)
    enter(sheet, "coil", mechanic, measure=1.9)
    assert queries.sheet_progress(sheet.job, SheetKind.FITTING).missing == []


def test_a_hold_point_out_of_tolerance_keeps_the_car_and_says_the_figure(mechanic):
    sheet = sheet_with([COIL | {"hold_point": True}], person=mechanic)
    enter(sheet, "coil", mechanic, measure=1.9)
    [missing] = queries.sheet_progress(sheet.job, SheetKind.FITTING).missing
    assert missing == "Coil primary: 1.90 ohm, fail, high (limit: 1.35 to 1.65 ohm)"


def test_a_long_list_of_open_items_is_counted_by_section(mechanic):
    sheet = sheet_with([{"key": f"wire-{n}"} for n in range(9)], person=mechanic)
    assert queries.sheet_progress(sheet.job, SheetKind.FITTING).missing == ["Wiring: 9 items"]


def test_a_job_keeps_the_revision_it_began_with(mechanic):
    revision = published_list([{"key": "fuse"}])
    job = JobFactory(stage="fitting")
    sheet = begin_sheet(job=job, kind=SheetKind.FITTING, revision=revision, actor=signed_by(mechanic))
    published_revision(revision.template, [{"key": "fuse"}, {"key": "relay"}], number=2)
    assert [found.item.key for found in sheet_of(sheet).lines] == ["fuse"]
    assert queries.newer_revision(sheet).number == 2


def test_moving_to_a_newer_revision_keeps_what_matches_and_judges_it_by_the_new_limits(mechanic):
    revision = published_list([COIL, {"key": "fuse"}, {"key": "old"}])
    job = JobFactory(stage="fitting")
    sheet = begin_sheet(job=job, kind=SheetKind.FITTING, revision=revision, actor=signed_by(mechanic))
    enter(sheet, "coil", mechanic, measure=1.6)
    enter(sheet, "fuse", mechanic)
    enter(sheet, "old", mechanic)
    rows = [COIL | {"high": 1.55}, {"key": "fuse", "kind": "text"}, {"key": "new"}]
    newer = published_revision(revision.template, rows, number=2)
    change = queries.change_to(sheet, newer)
    assert [item.key for item in change.lost] == ["fuse", "old"]
    assert [item.key for item in change.new] == ["new"]
    assert [item.key for item in change.limits] == ["coil"]
    moved = move_to_revision(sheet=sheet, revision=newer, actor=signed_by(mechanic))
    assert line(moved, "coil").verdict.words == "fail, high"
    assert line(moved, "fuse").is_open
    assert Entry.objects.count() == 3


def test_two_people_beginning_a_sheet_at_once_begin_one(mechanic, second_mechanic):
    job, revision = JobFactory(stage="fitting"), published_list([{"key": "fuse"}])
    begun = [
        begin_sheet(job=job, kind=SheetKind.FITTING, revision=revision, actor=signed_by(person))
        for person in (mechanic, second_mechanic)
    ]
    assert begun[0] == begun[1]
    assert TrailEntry.objects.filter(event="sheet-begun").count() == 1


def test_a_draft_begins_no_sheet(mechanic, owner):
    from jobs.checklists.editor_actions import begin_draft

    draft = begin_draft(template=published_list([{"key": "fuse"}]).template, actor=signed_by(owner))
    with pytest.raises(EntryRefusedError, match="not published"):
        begin_sheet(job=JobFactory(), kind=SheetKind.FITTING, revision=draft, actor=signed_by(mechanic))


def test_the_bench_record_says_value_limits_person_moments_and_what_was_corrected(mechanic, second_mechanic):
    sheet = sheet_with([COIL | {"second_person": True}], person=mechanic)
    first = enter(sheet, "coil", mechanic, measure=1.8)
    entry = enter(sheet, "coil", mechanic, measure=1.5, note="measured cold", replaces=[first.pk])
    confirm_entry(entry=entry, id=uuid.uuid4(), actor=signed_by(second_mechanic))
    [record] = queries.bench_record_rows(sheet.job)
    [row] = record["sections"][0]["rows"]
    assert (row["value"], row["unit"], row["limits"], row["verdict"]) == (
        "1.50",
        "ohm",
        "1.35 to 1.65 ohm",
        "pass",
    )
    assert (row["by"], row["second"], row["note"]) == ("Ines Marlow", "Tam Okoro", "measured cold")
    assert row["earlier"][0].startswith("1.80 ohm fail, high, Ines Marlow")
