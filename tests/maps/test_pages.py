"""The pages of the maps: what each person may do, what a bad form gives back, what is said loudly."""

import re
import uuid

import pytest
from django.db import connection
from django.urls import reverse

from garage.units.capability import capability_of
from garage.units.examples import FALLOW, TERN
from jobs.job.actions import choose_unit
from jobs.maps.models import CHANGED_OUTSIDE, MapVersion, ReadBack
from jobs.maps.unit_fit import lines_of
from tests.factories import JobFactory
from tests.jobs_factories import (
    FittedUnitFactory,
    MapVersionFactory,
    UnitTypeRevisionFactory,
    proven_version,
    released_version,
)

pytestmark = pytest.mark.django_db
POINT = TERN.word("node").words  # what the unit of most of these tests calls a point of its curve


@pytest.fixture
def draft(db) -> MapVersion:
    return MapVersionFactory(job=JobFactory(stage="map"))


@pytest.fixture
def at_the_bench(browser_of, mechanic):
    return browser_of(mechanic)


OF_THE_MAPS = ("key-in", "read-back", "keep", "page")


def named(name: str) -> str:
    """The address name of a page of the maps or of the bench."""
    return f"{'maps' if name in OF_THE_MAPS else 'bench'}:{name}"


def address(version: MapVersion, name: str = "version") -> str:
    return reverse(named(name), args=[version.job.code, version.number])


def figures(version: MapVersion, **changed) -> dict[str, object]:
    return {
        "row_version": version.row_version,
        "base_deg": "8",
        "curve_rpm": ["800", "3000"],
        "curve_deg": ["0", "18"],
        "vacuum_scheme": "none",
        "rev_limit_rpm": "6000",
        **changed,
    }


def text_of(answer) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_the_stage_page_of_a_job_without_a_unit_asks_for_it_first(at_the_bench):
    job = JobFactory(stage="map")
    answer = at_the_bench.get(reverse("maps:page", args=[job.code]))
    assert "Choose unit" in text_of(answer)


def test_the_stage_page_says_which_version_is_in_the_car_and_who_proved_it(at_the_bench, actor):
    version = proven_version(actor, job=JobFactory(stage="map"))
    said = text_of(at_the_bench.get(reverse("maps:page", args=[version.job.code])))
    assert "read back clean by Ines Marlow" in said
    assert "in the car" in said


def test_a_first_version_is_started_from_the_factory_band_and_says_so(at_the_bench, actor):
    job = JobFactory(
        stage="map",
        unit=FittedUnitFactory(),
        vehicle__distributor__factory_band=[[400, 0, 1], [2000, 10, 12]],
        vehicle__distributor__base_timing_deg=6,
    )
    start = reverse("bench:start", args=[job.code])
    assert 'value="6"' in at_the_bench.get(start).content.decode()
    idempotency_key = str(uuid.uuid4())
    form = {"start": "band", "base_deg": "7", "reason": "as the factory wanted it", "idempotency_key": idempotency_key}
    for _ in range(2):  # a double tap
        answer = at_the_bench.post(start, form)
    version = job.map_versions.get()
    assert answer.headers["Location"] == address(version)
    assert (version.base_deg, version.origin) == (7.0, "the middle of the factory band")
    assert version.curve == [[800.0, 1.0], [4000.0, 22.0]]


def test_a_start_without_a_reason_comes_back_filled_in(at_the_bench):
    job = JobFactory(stage="map", unit=FittedUnitFactory())
    form = {"start": "blank", "base_deg": "9", "reason": "", "idempotency_key": str(uuid.uuid4())}
    answer = at_the_bench.post(reverse("bench:start", args=[job.code]), form)
    assert answer.status_code == 422
    assert 'value="9"' in answer.content.decode()
    assert not job.map_versions.exists()


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
    assert "The unit holds 0 to 40." in page
    draft.refresh_from_db()
    assert draft.curve == [[800, 0], [3000, 18]]


def test_a_second_save_shows_both_drafts(at_the_bench, browser_of, second_mechanic, draft):
    at_the_bench.post(address(draft), figures(draft, curve_deg=["1", "18"]))
    answer = browser_of(second_mechanic).post(address(draft), figures(draft, curve_deg=["0", "16"]))
    said = text_of(answer)
    assert answer.status_code == 409
    assert "Ines Marlow saved this draft meanwhile" in said
    assert "1 degree out up to 800 rpm, 2 degrees out from 3000 rpm up" not in said  # both are out: one stretch
    assert "up to 2 degrees out throughout" in said
    assert 'name="row_version" value="2"' in answer.content.decode()


def test_judging_stores_nothing(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_deg=["0", "30"]))
    assert answer.status_code == 200
    assert answer.json()["held"][-1] == "30"
    draft.refresh_from_db()
    assert draft.curve == [[800, 0], [3000, 18]]


def test_judging_names_the_refused_cell_by_its_place(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_deg=["0", "x"]))
    assert answer.status_code == 422
    assert answer.json()["refused"]["cells"] == [
        {"name": "curve_deg", "place": 1, "words": "‘x’ is not a figure."},
    ]


def test_a_curve_past_full_load_is_found_at_once(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_deg=["0", "36"]))
    assert "tone-stop" in answer.json()["findings"]
    assert "chart-finding-stop" in answer.json()["chart"]


def test_a_released_version_has_no_boxes(at_the_bench, actor):
    version = released_version(actor, job=JobFactory(stage="map"))
    page = at_the_bench.get(address(version)).content.decode()
    assert 'name="curve_deg"' not in page
    assert version.content_hash[:12] in page


def test_a_released_version_refuses_a_form_that_was_still_open(at_the_bench, actor):
    version = released_version(actor, job=JobFactory(stage="map"))
    answer = at_the_bench.post(address(version), figures(version, curve_deg=["0", "20"]))
    said = text_of(answer)
    assert answer.status_code == 409
    assert "Version 1 is released." in said
    assert "Your changes: 2 degrees more from 3000 rpm up, rest as before" in said
    version.refresh_from_db()
    assert version.is_sound()


@pytest.fixture
def tampered(actor) -> MapVersion:
    """A released version whose figures somebody changed in the database itself, past its triggers."""
    version = released_version(actor, job=JobFactory(stage="map"))
    choose_unit(job=version.job, unit=FittedUnitFactory(revision=version.unit_revision), actor=actor)
    on_table = " ON jobs_mapversion" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER jobs_mapversion_kept_update{on_table}")
        cursor.execute("UPDATE jobs_mapversion SET base_deg = 14 WHERE id = %s", [version.pk])
    version.refresh_from_db()
    return version


@pytest.mark.parametrize("page", ["version", "key-in", "read-back"])
def test_a_broken_seal_is_said_loudly_and_the_figures_are_not_shown(at_the_bench, tampered, page):
    answer = at_the_bench.get(address(tampered, page))
    assert CHANGED_OUTSIDE in text_of(answer)
    assert POINT not in answer.content.decode()


@pytest.mark.parametrize("page", ["next", "refit", "keep"])
def test_nothing_goes_on_from_a_broken_seal(at_the_bench, tampered, page):
    form = {"reason": "pinks", "name": "Long hill", "idempotency_key": str(uuid.uuid4())}
    answer = at_the_bench.post(address(tampered, page), form, follow=True)
    assert CHANGED_OUTSIDE in text_of(answer)
    assert not tampered.children.exists()
    assert not tampered.kept_as.exists()


def test_a_broken_seal_is_not_compared_nor_laid_underneath_nor_offered_to_other_cars(at_the_bench, tampered):
    from jobs.bench.start_maps import other_cars

    draft = MapVersionFactory(job=tampered.job, number=2, unit_revision=tampered.unit_revision)
    said = text_of(at_the_bench.get(reverse("bench:compare", args=[draft.job.code]), {"before": 1, "after": 2}))
    assert CHANGED_OUTSIDE in said
    page = at_the_bench.get(address(draft)).content.decode()
    assert 'value="version-1"' not in page
    assert "data-copy-from" not in page
    assert other_cars(JobFactory()) == []


def test_a_broken_seal_holds_the_car_in_the_stage(tampered):
    from jobs.maps.queries import progress

    assert any("version 1" in words for words in progress(tampered.job).missing)


def test_nothing_is_proven_against_a_broken_seal(at_the_bench, tampered):
    answer = at_the_bench.post(address(tampered, "read-back"), {"fact_id": str(uuid.uuid4()), "power_cycled": "on"})
    assert answer.status_code == 409
    assert not ReadBack.objects.exists()


def test_a_draft_has_no_key_in_sheet(at_the_bench, draft):
    assert at_the_bench.get(address(draft, "key-in")).status_code == 404


def test_the_key_in_sheet_has_one_entry_a_line_in_keying_order_with_the_units_words(at_the_bench, actor):
    revision = UnitTypeRevisionFactory(capability=capability_of(FALLOW))
    version = released_version(
        actor,
        job=JobFactory(stage="map"),
        unit_revision=revision,
        dwell_ms=3.0,
        rev_limit_manner="hard",
    )
    said = text_of(at_the_bench.get(address(version, "key-in")))
    keyed = {entry.key: entry.words for entry in FALLOW.entries}
    hard = dict(FALLOW.word("rev_limit_manner").choices)["hard"]
    point = keyed["node"]
    order = [keyed["dwell"], keyed["base"], f"{point} 400", f"{point} 700", keyed["rev_limit"], hard]
    places = [said.index(words) for words in order]
    assert places == sorted(places)
    assert "Then switch the ignition off and on" in said


def read(version: MapVersion, **changed) -> dict[str, str]:
    form = {f"same_{line.position}": "on" for line in lines_of(version)}
    return {**form, "fact_id": str(uuid.uuid4()), "power_cycled": "on", **changed}


@pytest.fixture
def keyed_in(actor) -> MapVersion:
    version = released_version(actor, job=JobFactory(stage="map"))
    choose_unit(job=version.job, unit=FittedUnitFactory(revision=version.unit_revision), actor=actor)
    return version


def test_a_line_that_was_not_read_is_refused_and_what_was_typed_stays(at_the_bench, keyed_in):
    form = read(keyed_in, shown_2="7")
    del form["same_3"]
    answer = at_the_bench.post(address(keyed_in, "read-back"), form)
    assert answer.status_code == 422
    assert 'value="7"' in answer.content.decode()
    assert not ReadBack.objects.exists()


def test_a_figure_that_is_none_is_refused_before_it_enters_the_record(at_the_bench, keyed_in):
    answer = at_the_bench.post(address(keyed_in, "read-back"), read(keyed_in, shown_2="2x"))
    assert answer.status_code == 422
    assert "‘2x’ is not a figure." in answer.content.decode()


def test_what_was_typed_goes_before_a_tick(at_the_bench, keyed_in):
    at_the_bench.post(address(keyed_in, "read-back"), read(keyed_in, shown_5="13"))
    assert ReadBack.objects.get().mismatches == [f"{POINT} 2500: the unit shows 13, the map says 14"]


def test_a_read_back_sent_twice_is_one_fact(at_the_bench, keyed_in):
    form = read(keyed_in)
    for _ in range(2):
        answer = at_the_bench.post(address(keyed_in, "read-back"), form)
    assert ReadBack.objects.count() == 1
    assert "is in the car" in text_of(at_the_bench.get(answer.headers["Location"]))


def test_the_owner_gives_a_reason_to_release_over_a_stop(browser_of, owner, at_the_bench, draft):
    at_the_bench.post(address(draft), figures(draft, curve_deg=["0", "36"]))
    refused = at_the_bench.post(address(draft, "release"), {"row_version": 2})
    assert refused.status_code == 422
    without = browser_of(owner).post(address(draft, "release"), {"row_version": 2, "over": ""})
    assert without.status_code == 422
    browser_of(owner).post(address(draft, "release"), {"row_version": 2, "over": "proved on the brake"})
    draft.refresh_from_db()
    assert draft.released_at is not None


def test_a_next_version_needs_its_reason(at_the_bench, actor):
    version = released_version(actor, job=JobFactory(stage="map"))
    answer = at_the_bench.post(address(version, "next"), {"reason": "", "idempotency_key": str(uuid.uuid4())})
    assert answer.status_code == 422
    at_the_bench.post(address(version, "next"), {"reason": "flat at 2000", "idempotency_key": str(uuid.uuid4())})
    assert version.children.get().reason == "flat at 2000"


def test_the_reason_that_a_road_test_hands_over_stands_in_the_form(at_the_bench, draft):
    page = at_the_bench.get(address(draft, "next"), {"reason": "definite pinking at 2600 rpm"}).content.decode()
    assert "definite pinking at 2600 rpm</textarea>" in page


def test_figures_unstored_on_the_bench_go_in_before_the_version_is_released(at_the_bench, draft):
    answer = at_the_bench.post(address(draft), figures(draft, curve_deg=["2", "20"], then="release"))
    assert answer.headers["Location"] == address(draft, "release")
    draft.refresh_from_db()
    assert draft.curve == [[800.0, 2.0], [3000.0, 20.0]]


def test_a_refusal_of_a_whole_table_is_said_to_the_bench(at_the_bench, draft):
    answer = at_the_bench.post(address(draft, "judge"), figures(draft, curve_rpm=["", ""], curve_deg=["", ""]))
    assert answer.json()["refused"] == {"cells": [], "boxes": {}, "whole": ["A curve needs at least one point."]}


def test_idle_stands_on_the_surface_where_this_car_was_measured(monkeypatch, draft):
    """The sheet says 45 kPa; the workshop of the test lies at sea level, where nothing is added to it."""
    from jobs.bench.version_on_bench import on_the_bench
    from jobs.maps import inspection_values as measured

    draft.job.vehicle.engine.idle_rpm = 800

    def idle():
        points = on_the_bench(draft).pictures()["surface"].points
        return next(point.y for point in points if point.name == "idle")

    usual = idle()
    monkeypatch.setattr(
        measured.checklists, "entered_values", lambda job, kind, keys: {"idle-vacuum": 45.0, "b": 0, "c": 0}
    )
    rows = [point for point in on_the_bench(draft).pictures()["surface"].cells if point.column == 0]
    height = rows[0].y - rows[1].y  # of a row of 10 kPa
    assert idle() - usual == pytest.approx(height, abs=0.1)


def test_a_refit_says_where_the_other_unit_cannot_hold_the_map(at_the_bench, actor):
    from dataclasses import replace

    small = replace(FALLOW, degree=type(FALLOW.degree)(-10, 20, 0.5))
    UnitTypeRevisionFactory(capability=capability_of(small), unit_type__name="Small")
    version = released_version(actor, job=JobFactory(stage="map"))
    said = text_of(at_the_bench.get(address(version, "refit")))
    assert "26 degrees at 3000 rpm" in said


def test_findings_gained_by_a_version_are_named_in_the_comparison(at_the_bench, draft):
    MapVersionFactory(
        job=draft.job, number=2, parent=draft, unit_revision=draft.unit_revision, curve=[[800, 0], [3000, 36]]
    )
    answer = at_the_bench.get(reverse("bench:compare", args=[draft.job.code]), {"before": 1, "after": 2})
    said = text_of(answer)
    assert "18 degrees more from 3000 rpm up, rest as before" in said
    assert "stop" in said.split("New findings")[1].split("Findings gone")[0]


def test_unknown_versions_in_a_comparison_fall_back_to_the_last_two(at_the_bench, draft):
    MapVersionFactory(job=draft.job, number=2, parent=draft, unit_revision=draft.unit_revision)
    answer = at_the_bench.get(reverse("bench:compare", args=[draft.job.code]), {"before": "x", "after": "99"})
    assert "From version 1 to version 2" in text_of(answer)


@pytest.mark.parametrize("name", ["version", "judge", "release", "next", "refit", "set-aside", "keep", "key-in"])
def test_a_version_of_another_job_is_not_found(at_the_bench, draft, name):
    url = reverse(named(name), args=[draft.job.code, 9])
    assert (at_the_bench.post(url) if name == "judge" else at_the_bench.get(url)).status_code == 404


@pytest.mark.parametrize("name", ["release", "next", "refit", "set-aside"])
def test_the_front_desk_looks_and_does_not_touch(browser_of, front_desk, draft, name):
    desk = browser_of(front_desk)
    assert desk.get(address(draft)).status_code == 200
    assert 'name="curve_deg"' not in desk.get(address(draft)).content.decode()
    assert desk.get(address(draft, name)).status_code == 403
    assert desk.post(address(draft), figures(draft)).status_code == 403


def test_a_pattern_is_kept_once_under_its_name(at_the_bench, actor):
    version = released_version(actor, job=JobFactory(stage="map"))
    idempotency_key = str(uuid.uuid4())
    for _ in range(2):
        answer = at_the_bench.post(
            address(version, "keep"), {"name": "Long hill", "suits": "fours", "idempotency_key": idempotency_key}
        )
        assert answer.status_code == 302
    taken = at_the_bench.post(
        address(version, "keep"), {"name": "long hill", "suits": "", "idempotency_key": str(uuid.uuid4())}
    )
    assert taken.status_code == 422
    assert "Long hill" in text_of(at_the_bench.get(reverse("maps:patterns")))


def test_pasted_text_that_is_no_table_is_refused_with_its_row(at_the_bench):
    answer = at_the_bench.post(reverse("bench:paste"), {"text": "1\nx", "width": "1"})
    assert (answer.status_code, answer.json()) == (422, {"problem": "Row 2: ‘x’ is not a figure."})


@pytest.mark.parametrize("width", ["\u00b2", "9" * 5000, "-1", "two"])
def test_a_width_that_is_none_is_passed_over(at_the_bench, width):
    answer = at_the_bench.post(reverse("bench:paste"), {"text": "1\n2", "width": width})
    assert answer.json() == {"rows": [[1.0], [2.0]]}


def test_strobe_readings_lie_on_the_curve_where_all_is_well(monkeypatch, draft):
    """By hand: base 8, 18 degrees at 3000 rpm, and the strobe shows 26: counted from base that is 18."""
    from jobs.bench import overlays as layers

    monkeypatch.setattr(layers.strobe, "latest_readings", lambda job: [(3000.0, None, 26.0)])
    laid = layers.laid(draft.job, draft, draft.base_deg, draft.ignition_map().total_advance(), ["readings"])
    assert laid.readings == [(3000.0, 18.0)]


def test_what_vacuum_added_to_a_reading_is_taken_off_it(monkeypatch, draft):
    """By hand: the ramp gives half of its 12 degrees at 25 kPa, so that 8 + 18 + 6 = 32 lies on the curve."""
    from jobs.bench import overlays as layers
    from timing.surface import TotalAdvance
    from timing.vacuum import VacuumRamp

    monkeypatch.setattr(layers.strobe, "latest_readings", lambda job: [(3000.0, 25.0, 32.0)])
    surface = TotalAdvance(8.0, draft.ignition_map().curve, VacuumRamp(10, 40, 12))
    laid = layers.laid(draft.job, draft, draft.base_deg, surface, ["readings"])
    assert laid.readings == [(3000.0, 18.0)]


def test_another_version_brings_its_own_base_along(draft):
    """By hand: 10 degrees on a base of 12 is 14 counted from a base of 8."""
    from jobs.bench import overlays as layers

    MapVersionFactory(
        job=draft.job, number=2, unit_revision=draft.unit_revision, base_deg=12.0, curve=[[800, 0], [3000, 10]]
    )
    laid = layers.laid(draft.job, draft, 8.0, draft.ignition_map().total_advance(), ["version-2"])
    assert laid.earlier == [("version 2", [(800, 4.0), (3000, 14.0)])]
