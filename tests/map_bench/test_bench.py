"""A draft on the bench: stored, judged while it is typed, and what a bad form gives back."""

import pytest
from django.urls import reverse

from jobs.bench.version_on_bench import on_the_bench
from jobs.checklists.actions import begin_sheet
from jobs.checklists.models import SheetKind
from tests.checklists.factories import enter, published_list, signed_by
from tests.maps import said
from tests.maps.versions import address, figures, named
from tests.pages import assert_not_found, assert_not_open, text_of

pytestmark = pytest.mark.django_db


def test_a_stored_draft_shows_what_was_typed(at_the_bench, draft):
    answer = at_the_bench.post(address(draft), figures(draft, curve_deg=["2", "20"]))
    assert answer.status_code == 302
    draft.refresh_from_db()
    assert draft.curve == [[800.0, 2.0], [3000.0, 20.0]]


def test_a_refused_draft_comes_back_with_everything_typed_and_the_reason_beside_the_cell(at_the_bench, draft):
    answer = at_the_bench.post(address(draft), figures(draft, curve_deg=["2", "55"], dwell_ms="a bit"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="55"' in page
    assert 'value="a bit"' in page
    assert said.UNIT_HOLDS.format(0, 40) in page
    draft.refresh_from_db()
    assert draft.curve == [[800, 0], [3000, 18]]


def test_a_second_save_shows_both_drafts(at_the_bench, browser_of, second_mechanic, draft):
    at_the_bench.post(address(draft), figures(draft, curve_deg=["1", "18"]))
    answer = browser_of(second_mechanic).post(address(draft), figures(draft, curve_deg=["0", "16"]))
    shown = text_of(answer)
    assert answer.status_code == 409
    assert "Ines Marlow saved this draft meanwhile" in shown
    assert "1 degree out up to 800 rpm, 2 degrees out from 3000 rpm up" not in shown  # both are out: one stretch
    assert "up to 2 degrees out throughout" in shown
    assert 'name="row_version" value="2"' in answer.content.decode()


def test_judging_stores_nothing(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_deg=["0", "30"]))
    assert answer.status_code == 200
    assert answer.json()["delivered"][-1] == "30"
    draft.refresh_from_db()
    assert draft.curve == [[800, 0], [3000, 18]]


def test_judging_names_the_refused_cell_by_its_place(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_deg=["0", "x"]))
    assert answer.status_code == 422
    assert answer.json()["refused"]["cells"] == [
        {"name": "curve_deg", "place": 1, "text": said.not_a_figure("x")},
    ]


def test_a_curve_past_full_load_is_found_at_once(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_deg=["0", "36"]))
    assert "tone-stop" in answer.json()["findings"]
    assert "chart-finding-stop" in answer.json()["chart"]


def test_a_refusal_of_a_whole_table_is_said_to_the_bench(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_rpm=["", ""], curve_deg=["", ""]))
    assert answer.json()["refused"] == {"cells": [], "boxes": {}, "whole": [said.NEEDS_A_POINT]}


def test_idle_stands_on_the_surface_where_this_car_was_measured(draft, mechanic):
    """The sheet says 13.3 inHg, which is 45 kPa; the workshop of the test lies at sea level."""

    draft.job.vehicle.engine.idle_rpm = 800

    def idle():
        points = on_the_bench(draft).pictures()["surface"].points
        return next(point.y for point in points if point.name == "idle")

    usual = idle()
    gauge = {"key": "idle-vacuum", "kind": "measure", "unit": "kPa", "quantity": "vacuum", "correction": "sea level"}
    sheet = begin_sheet(
        job=draft.job, kind=SheetKind.INSPECTION, revision=published_list([gauge], SheetKind.INSPECTION),
        actor=signed_by(mechanic),
    )  # fmt: skip
    enter(sheet, "idle-vacuum", mechanic, measure=45.0, unit="inHg")
    draft.job.refresh_from_db()
    draft.job.vehicle.engine.idle_rpm = 800
    rows = [point for point in on_the_bench(draft).pictures()["surface"].cells if point.column == 0]
    height = rows[0].y - rows[1].y  # of a row of 10 kPa
    assert idle() - usual == pytest.approx(height, abs=0.1)


def test_pasted_text_that_is_no_table_is_refused_with_its_row(at_the_bench):
    answer = at_the_bench.post(reverse("bench:paste"), {"text": "1\nx", "width": "1"})
    assert (answer.status_code, answer.json()) == (422, {"problem": f"Row 2: {said.not_a_figure('x')}"})


@pytest.mark.parametrize("width", ["\u00b2", "9" * 5000, "-1", "two"])
def test_a_width_that_is_none_is_passed_over(at_the_bench, width):
    answer = at_the_bench.post(reverse("bench:paste"), {"text": "1\n2", "width": width})
    assert answer.json() == {"rows": [[1.0], [2.0]]}


def test_figures_unstored_on_the_bench_go_in_before_the_version_is_released(at_the_bench, draft):
    answer = at_the_bench.post(address(draft), figures(draft, curve_deg=["2", "20"], then="release"))
    assert answer.headers["Location"] == address(draft, "release")
    draft.refresh_from_db()
    assert draft.curve == [[800.0, 2.0], [3000.0, 20.0]]


@pytest.mark.parametrize("name", ["version", "judge", "release", "next", "refit", "set-aside", "keep", "key-in"])
def test_a_version_of_another_job_is_not_found(at_the_bench, draft, name):
    url = reverse(named(name), args=[draft.job.code, 9])
    assert_not_found(at_the_bench.post(url) if name == "judge" else at_the_bench.get(url))


@pytest.mark.parametrize("name", ["release", "next", "refit", "set-aside"])
def test_the_front_desk_looks_and_does_not_touch(browser_of, front_desk, draft, name):
    desk = browser_of(front_desk)
    page = desk.get(address(draft))
    assert draft.reason in text_of(page)
    assert 'name="curve_deg"' not in page.content.decode()
    assert_not_open(desk.get(address(draft, name)))
    assert_not_open(desk.post(address(draft), figures(draft)))
