"""A line '…, and recorded' is green only once the readings it speaks of are there, and nobody ticks it by hand."""

import uuid
from urllib.parse import urlencode

import pytest
from django.urls import reverse

from jobs.checklists.actions import EntryRefusedError
from jobs.checklists.models import Entry, Outcome
from jobs.checklists.queries import sheet_progress
from jobs.checklists.readers import read
from jobs.checklists.sheet import sheet_of
from jobs.inspection import actions
from tests.checklists.factories import enter, published_revision, sheet_with
from tests.checklists.test_tablet import JSON, message
from tests.factories import JobFactory
from tests.inspection.test_inspection import squeeze

MARK = {"key": "mark", "kind": "reading", "reader": "timing-mark", "hold_point": True, "text": "Mark, and recorded"}
SWEEP = {"key": "sweep", "kind": "reading", "reader": "sweep", "text": "Sweep, and recorded"}
SQUEEZE = {"key": "squeeze", "kind": "reading", "reader": "compression", "text": "Compression, and recorded"}
LATER = {"key": "later"}


@pytest.fixture
def job(db):
    job = JobFactory(stage="inspection")
    job.vehicle.engine.cylinders = 4
    job.vehicle.engine.save()
    return job


@pytest.fixture
def sheet(job, mechanic):
    return sheet_with([MARK, SWEEP, SQUEEZE, LATER], person=mechanic, job=job, kind="inspection")


def line(sheet, key):
    fresh = type(sheet).objects.get(pk=sheet.pk)
    return sheet_of(fresh).line(key)


def prove_mark(job, actor, *, off_deg):
    actions.record_mark_check(job=job, id=uuid.uuid4(), first_deg=-36, second_deg=36, mark_deg=off_deg, actor=actor)


def sweep(job, actor, *speeds):
    for rpm in speeds:
        actions.record_sweep_reading(
            job=job, id=uuid.uuid4(), rpm=rpm, measured_deg=12, direction="rising", actor=actor
        )


def test_a_line_without_its_readings_is_open_and_says_what_is_missing(sheet, job):
    mark = line(sheet, "mark")
    assert (mark.is_open, mark.holds, mark.found.text) == (True, False, "Timing mark not checked yet.")
    back = urlencode({"next": reverse("inspection:sheet", args=[job.code])})
    assert mark.found.url == f"{reverse('inspection:page', args=[job.code])}?{back}#mark"
    assert line(sheet, "later").hold.item.key == "mark"


def test_nobody_ticks_it_by_hand(sheet, mechanic):
    with pytest.raises(EntryRefusedError, match="read from the record and not ticked by hand"):
        enter(sheet, "mark", mechanic)
    assert not Entry.objects.exists()


def test_a_tick_that_waited_on_a_tablet_is_refused_with_a_sentence(sheet, mechanic, browser_of):
    address = f"/jobs/{sheet.job.code}/sheet/inspection/send/"
    sent = message(mechanic, "mark")
    answer = browser_of(mechanic).post(address, sent, content_type="application/json", headers=JSON)
    assert answer.status_code == 422
    assert "not ticked by hand. Timing mark not checked yet." in answer.json()["problem"]


def test_the_reading_opens_the_hold_point_and_tells_value_who_and_when(sheet, job, actor):
    prove_mark(job, actor, off_deg=0.5)
    mark = line(sheet, "mark")
    assert (mark.is_done, mark.holds, mark.by) == (True, True, str(actor.person))
    assert mark.found.text == "0.5° off (limit 1°)"
    assert mark.at == job.mark_checks.get().made_at
    assert line(sheet, "later").hold is None


def test_a_mark_that_is_off_is_read_and_holds_the_rest(sheet, job, actor):
    prove_mark(job, actor, off_deg=3.5)
    assert (line(sheet, "mark").verdict.mark, line(sheet, "mark").holds) == ("stop", False)
    assert "3.5° off (limit 1°)" in sheet_progress(job, "inspection").missing[0]


def test_a_sweep_counts_its_speeds_and_a_reading_taken_back_counts_no_more(sheet, job, actor):
    sweep(job, actor, 800, 1200, 1600, 2000, 2600)
    assert line(sheet, "sweep").found.text == "5 of 6 speeds read."
    sweep(job, actor, 3200)
    assert line(sheet, "sweep").found.text == "6 speeds, 800 to 3200 rpm"
    actions.withdraw_sweep_reading(reading=job.sweep_readings.get(rpm=1600), actor=actor)
    assert line(sheet, "sweep").is_open


def test_compression_wants_every_cylinder_and_shows_the_spread(sheet, job, actor):
    squeeze(job, actor, 1200, 1180, 1150)
    assert line(sheet, "squeeze").found.text == "Not read: cylinder 4."
    squeeze(job, actor, 1200, 1180, 1150, 888)  # (1200 - 888) / 1200 = 26 %, by hand
    found = line(sheet, "squeeze")
    assert (found.is_done, found.verdict.mark) == (True, "stop")
    assert found.found.text == "4 cylinders, spread 26% (limit 15%)"


def test_what_cannot_be_read_is_said_so_with_a_reason(sheet, mechanic):
    enter(sheet, "mark", mechanic, outcome=Outcome.NOT_POSSIBLE, note="plug hole behind the bulkhead")
    assert (line(sheet, "mark").verdict.words, line(sheet, "mark").holds) == ("not possible", False)


def test_an_old_job_keeps_its_hand_tick_and_the_newer_list_reads_the_record(job, mechanic, actor):
    old = sheet_with([{"key": "mark", "text": "Mark, and recorded"}], person=mechanic, job=job, kind="inspection")
    enter(old, "mark", mechanic)
    assert line(old, "mark").is_done
    newer = published_revision(old.revision.template, [MARK], number=2)
    old.revision = newer
    old.save()
    assert line(old, "mark").is_open
    prove_mark(job, actor, off_deg=0)
    assert line(old, "mark").is_done


def test_a_reading_that_fails_is_listed_once_at_the_head_of_the_verdict(sheet, job, actor):
    from jobs.inspection.failures import failures_of

    squeeze(job, actor, 1200, 1180, 1150, 1190)
    prove_mark(job, actor, off_deg=3.5)
    assert [failure.text for failure in failures_of(job)] == ["Timing mark: 3.5° off (limit 1°)"]


def test_the_page_shows_what_was_read_and_the_way_to_it(sheet, job, actor, mechanic, browser_of):
    client = browser_of(mechanic)
    page = client.get(reverse("inspection:sheet", args=[job.code])).content.decode()
    assert "Timing mark not checked yet." in page
    prove_mark(job, actor, off_deg=0.5)
    page = client.get(reverse("checklists:item", args=[job.code, "inspection", "mark"])).content.decode()
    assert "0.5° off (limit 1°)" in page
    assert "Tick: done" not in page


def test_the_bench_record_says_what_was_read(sheet, job, actor):
    from jobs.checklists.queries import bench_record_rows

    prove_mark(job, actor, off_deg=0.5)
    row = bench_record_rows(job)[0]["sections"][0]["rows"][0]
    assert (row["value"], row["by"]) == ("0.5° off (limit 1°)", str(actor.person))


def test_a_tablet_learns_of_a_reading_taken_elsewhere(sheet, job, actor, mechanic, browser_of):
    client, address = browser_of(mechanic), f"/jobs/{job.code}/sheet/inspection/state/"
    before = client.get(address, headers=JSON)
    prove_mark(job, actor, off_deg=0.5)
    after = client.get(address, headers=JSON | {"If-None-Match": before["ETag"]})
    assert after.status_code == 200
    assert after.json()["rows"]["mark"]["done"]


@pytest.mark.parametrize("key", ["base-timing", "clamp", "rotor-neighbour", "no-such-reader"])
def test_a_car_of_which_nothing_was_read_leaves_every_reader_open(job, key):
    found = read(key, job)
    assert not found.is_done
    assert found.text.endswith(".")


def test_what_only_a_later_stage_reads_keeps_nobody(job, mechanic):
    rows = [{"key": "base", "kind": "reading", "reader": "base-timing", "required": False}]
    sheet = sheet_with(rows, person=mechanic, job=job, kind="inspection")
    assert sheet_of(sheet).next_open is None
    assert sheet_progress(job, "inspection").missing == []


def test_a_failed_hold_point_is_where_work_goes_on_and_not_a_skipped_item(job, mechanic):
    rows = [{"key": "skipped"}, {"key": "fuel", "kind": "choice", "choices": ["dry", "leaks"], "good_choices": ["dry"],
             "hold_point": True}, LATER]  # fmt: skip
    sheet = sheet_with(rows, person=mechanic, job=job, kind="inspection")
    enter(sheet, "fuel", mechanic, choice="leaks")
    assert sheet_of(sheet).next_open.item.key == "fuel"
    assert sheet_progress(job, "inspection").next_url.endswith("#item-fuel")
