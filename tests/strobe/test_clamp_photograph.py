"""The photograph of the clamp and its mark is asked for with the clamp, not on the sheet before the base timing."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from jobs.checklists import queries as checklists
from jobs.strobe import queries
from tests.checklists.factories import enter, photograph, sheet_with
from tests.factories import JobFactory
from tests.pages import text_of
from tests.strobe.test_strobe import clamp

LIST = [
    {"key": "old-parts"},
    {"key": "clamp-proven", "kind": "reading", "reader": "clamp", "required": False},
    {"key": "clamp-mark", "kind": "photo", "required": False},
]


@pytest.fixture
def job(db):
    return JobFactory(stage="base-timing")


@pytest.fixture
def sheet(job, mechanic):
    return sheet_with(LIST, person=mechanic, job=job)


def line_of(job):
    return checklists.sheet(type(job).objects.get(pk=job.pk), "fitting").line("clamp-mark")


def save(client, job, id=None, content=None):
    form = {"clamp-id": id or uuid.uuid4(), "clamp-change_deg": "0", "clamp-mark_painted": "on"}
    picture = {"clamp-photograph": SimpleUploadedFile("clamp.jpg", content)} if content else {}
    return client.post(reverse("strobe:record-clamp", args=[job.code]), form | picture)


def test_the_sheet_asks_nobody_for_it_before_the_clamp(job, sheet, actor, mechanic):
    enter(sheet, "old-parts", mechanic)
    assert line_of(job).comes_later
    assert checklists.sheet(job, "fitting").next_open is None
    clamp(job, actor)
    assert not line_of(job).comes_later
    assert checklists.sheet(type(job).objects.get(pk=job.pk), "fitting").next_open.item.key == "clamp-mark"


def test_it_comes_with_the_clamp_onto_the_sheet_and_once_however_often_it_is_sent(browser_of, mechanic, job, sheet):
    client, id = browser_of(mechanic), uuid.uuid4()
    assert "Photograph of clamp and mark" in text_of(client.get(reverse("strobe:page", args=[job.code])))
    for _ in range(2):
        assert save(client, job, id, photograph()).status_code == 302
    assert queries.clamp_holds(queries.clamp(job))
    assert [taken.by for taken in line_of(job).photographs] == [mechanic]
    assert line_of(job).is_done


def test_one_that_was_taken_too_early_is_followed_by_the_right_one(browser_of, mechanic, job, sheet):
    client = browser_of(mechanic)
    for width in (640, 641):
        save(client, job, content=photograph(width))
    line = line_of(job)
    assert len(line.photographs) == 2
    assert not line.is_conflict


def test_without_one_the_clamp_is_saved_all_the_same(browser_of, mechanic, job, sheet):
    assert save(browser_of(mechanic), job).status_code == 302
    assert queries.clamp(job) is not None
    assert line_of(job).photographs == []


def test_what_is_no_photograph_saves_nothing_and_says_why(browser_of, mechanic, job, sheet):
    answer = save(browser_of(mechanic), job, content=b"GIF89a")
    assert answer.status_code == 422
    assert "Not a readable photograph" in text_of(answer)
    assert queries.clamp(job) is None


def test_where_no_sheet_has_a_place_for_it_none_is_asked_for(browser_of, mechanic, job):
    assert "Photograph of clamp" not in text_of(browser_of(mechanic).get(reverse("strobe:page", args=[job.code])))


def test_behind_a_hold_point_the_clamp_is_saved_and_it_is_said_that_the_photograph_is_not(browser_of, mechanic, job):
    sheet_with([{"key": "battery-isolated", "hold_point": True}, *LIST], person=mechanic, job=job)
    client = browser_of(mechanic)
    answer = save(client, job, content=photograph())
    assert queries.clamp(job) is not None
    assert "Clamp saved, photograph not" in text_of(client.get(answer.url.partition("#")[0]))
