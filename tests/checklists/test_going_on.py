"""A stage that leads to the next: the one list that suits is begun, and a complete sheet names the way on."""

import pytest
from django.urls import reverse

from jobs.checklists.actions import EntryRefusedError, begin_sheet
from jobs.checklists.models import JobSheet, SheetKind
from jobs.checklists.presentation import state_of
from jobs.checklists.queries import only_list_for
from jobs.checklists.sheet import sheet_of
from jobs.job.models import Job
from tests.checklists.factories import enter, published_list, sheet_with, signed_by
from tests.factories import JobFactory
from tests.pages import text_of

pytestmark = pytest.mark.django_db
POINTS, HALL = {"trigger": ["contact breaker"]}, {"trigger": ["hall"]}


def at_the_gate(**more):
    """A car that may leave the booking for its fitting."""
    return JobFactory(kind="unit and map", odometer=52288, booked_for="2026-01-05", **more)


def go_on(client, job):
    return client.post(reverse("board:go-on", args=[job.code, job.stage]))


def test_the_one_list_that_fits_is_begun_and_its_sheet_comes_up(browser_of, mechanic):
    job = at_the_gate(vehicle__distributor__trigger="contact breaker")
    fits = published_list([{"key": "fuse"}], suits=POINTS)
    published_list([{"key": "sensor"}], suits=HALL)
    answer = go_on(browser_of(mechanic), job)
    assert answer.url.startswith(reverse("fitting:page", args=[job.code]))
    assert JobSheet.objects.get(job=job).revision == fits


def test_the_list_made_for_the_kind_of_job_goes_before_those_for_every_kind(mechanic):
    job = at_the_gate()
    published_list([{"key": "fuse"}])
    made_for_it = published_list([{"key": "strap"}], suits={"job_kind": ["unit and map"]})
    assert only_list_for(job, SheetKind.FITTING) == made_for_it


def test_where_several_lists_fit_a_person_chooses(browser_of, mechanic):
    job = at_the_gate(vehicle__distributor__trigger="")
    published_list([{"key": "fuse"}], suits=POINTS)
    published_list([{"key": "sensor"}], suits=HALL)
    client = browser_of(mechanic)
    assert "Start this list" in client.get(go_on(client, job).url).content.decode()
    assert not JobSheet.objects.exists()


def test_an_untouched_sheet_takes_another_list_and_one_with_entries_keeps_its_own(browser_of, mechanic):
    job = JobFactory(stage="fitting")
    first, other = published_list([{"key": "fuse"}]), published_list([{"key": "strap"}])
    sheet = begin_sheet(job=job, kind=SheetKind.FITTING, revision=first, actor=signed_by(mechanic))
    client = browser_of(mechanic)
    assert "Use another list" in text_of(client.get(reverse("fitting:page", args=[job.code])))
    client.post(reverse("checklists:begin", args=[job.code, "fitting"]), {"revision": other.pk})
    sheet.refresh_from_db()
    assert sheet.revision == other
    enter(sheet, "strap", mechanic)
    assert "Use another list" not in text_of(client.get(reverse("fitting:page", args=[job.code])))
    with pytest.raises(EntryRefusedError, match="has entries"):
        begin_sheet(job=job, kind=SheetKind.FITTING, revision=first, actor=signed_by(mechanic))


def test_the_state_of_a_complete_sheet_names_the_next_stage(mechanic):
    sheet = sheet_with([{"key": "fuse"}], person=mechanic)
    assert state_of(sheet_of(sheet))["onward"] is None
    enter(sheet, "fuse", mechanic)
    onward = state_of(sheet_of(JobSheet.objects.get()))["onward"]
    assert onward == {
        "label": "Go to base timing",
        "url": reverse("board:go-on", args=[sheet.job.code, "fitting"]),
        "method": "post",
    }


def test_the_complete_sheet_of_an_inspection_leads_to_what_is_left_of_it(mechanic):
    sheet = sheet_with([{"key": "leaks"}], person=mechanic, job=JobFactory(stage="inspection"), kind="inspection")
    enter(sheet, "leaks", mechanic)
    onward = state_of(sheet_of(JobSheet.objects.get()))["onward"]
    assert onward == {"label": "Prove timing mark", "url": reverse("inspection:page", args=[sheet.job.code]) + "#mark"}


def test_a_sheet_of_a_stage_that_is_over_leads_nowhere(mechanic):
    sheet = sheet_with([{"key": "fuse"}], person=mechanic)
    enter(sheet, "fuse", mechanic)
    Job.objects.update(stage="map")
    assert state_of(sheet_of(JobSheet.objects.get()))["onward"] is None
