"""The page that shows the rotor under the cap at both ends of the advance, and what brings it into line.

The worked cars: handbook, section 7.
"""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.units.capability import capability_of
from garage.units.examples import FALLOW
from jobs.checklists.rotor_items import ABOUT_THE_ROTOR
from jobs.checklists.shipped import shipped_lists
from jobs.fitting.rotor import rotor_page
from tests.checklists.factories import sheet_with
from tests.fitting.rotor_cars import (
    CONTACTS,
    FOUR,
    cells,
    described,
    job_with,
    mapped,
    page,
    words_of,
)
from tests.jobs_factories import MapVersionFactory, UnitTypeRevisionFactory, released_version
from tests.pages import assert_not_found
from tests.timing.published import rows
from timing.distributor import PhasingKind

pytestmark = pytest.mark.django_db

CENTRED = [row for row in rows("rotor_phasing.csv") if row["phased_adv"] == (row["adv_min"] + row["adv_max"]) / 2]


@pytest.mark.parametrize("row", CENTRED, ids=lambda row: f"{row['cylinders']:.0f}-at-{row['spark_adv']:.0f}")
def test_the_page_shows_the_figures_of_the_published_cases(row, mechanic, browser_of):
    """tests/reference/rotor_phasing.csv, the rotor set right in the middle of the range."""
    job = job_with(
        cylinders=int(row["cylinders"]),
        rotor_tip_radius_mm=row["tip_radius_mm"],
        rotor_tip_width_mm=row["tip_width_mm"],
        post_width_mm=row["post_width_mm"],
        rotor_gap_mm=row["radial_gap_mm"],
    )
    mapped(job, row["adv_min"], row["adv_max"])
    html = page(browser_of(mechanic), job)
    end = 0 if row["spark_adv"] == row["adv_min"] else 1
    shown = {name: figures[end] for name, figures in cells(html).items()}
    assert shown["spark_deg"] == f"{row['spark_adv']:.0f}° BTDC"
    for name, column, places in (
        ("offset_deg", "offset_dist_deg", 1),
        ("offset_mm", "offset_mm", 2),
        ("overlap_mm", "overlap_mm", 2),
        ("own_gap_mm", "own_gap_mm", 2),
        ("neighbour_gap_mm", "neighbour_gap_mm", 2),
        ("ratio", "ratio", 1),
    ):
        assert float(shown[name].replace("−", "-")) == pytest.approx(row[column], abs=0.51 * 10**-places), name
    best = row["phased_adv"]
    assert f"Best aligned at {best:.0f}° BTDC" in words_of(html)
    assert "not measured yet" in html


def test_the_dangerous_side_is_named(mechanic, browser_of):
    """Geometry: a late spark has the tip nearer the post that comes next, an early one nearer the one just left."""
    job = job_with(**FOUR)
    mapped(job, 8, 40)
    assert cells(page(browser_of(mechanic), job))["nearest"] == ["next", "last"]


def test_the_picture_stands_there_at_two_widths_and_turns_as_the_distributor_does(mechanic, browser_of):
    job = job_with(**FOUR, rotation="anticlockwise")
    mapped(job, 8, 40)
    html = page(browser_of(mechanic), job)
    assert html.count('class="chart chart-phasing chart-wide"') == 1
    assert html.count('class="chart chart-phasing chart-narrow"') == 1
    assert html.count("rotor turning anticlockwise") == 2
    assert "drawn clockwise" not in html


def test_a_direction_that_is_not_known_is_said_to_be_drawn_clockwise(mechanic, browser_of):
    job = job_with(**FOUR)
    mapped(job, 8, 40)
    html = page(browser_of(mechanic), job)
    assert "rotor turning clockwise" in html
    assert "not known: drawn clockwise" in html


def test_a_map_of_too_wide_a_range_shows_what_is_wrong_and_what_would_hold(mechanic, browser_of):
    """By hand: 5.5 - 1 mm of arc at a radius of 20 mm is 12.89°, a range of 4 x 12.89 = 51.6° of crank."""
    job = job_with(**FOUR)
    mapped(job, -10, 46)
    text = words_of(page(browser_of(mechanic), job))
    assert "range too wide" in text
    assert "At 46° the rotor tip is 14.0 distributor degrees before its terminal" in text
    assert "At −10° the rotor tip is 14.0 distributor degrees past its terminal" in text
    assert "Narrow the range to 51°." in text
    assert "A rotor with a wider tip serves this range" in text
    assert "outside the limits" in text
    assert "51.6° crank" in text


def test_the_latest_map_counts_released_or_not_and_none_that_was_set_aside(actor):
    job = job_with(**FOUR)
    released_version(actor, job=job, base_deg=8.0, curve=[[500, 0], [5000, 18]])
    assert rotor_page(job).advance.source == "map version 1, released"
    draft = mapped(job, 8, 36, number=2)
    mapped(job, 8, 50, number=3, set_aside_at=timezone.now())
    found = rotor_page(job)
    assert (found.advance.lowest_deg, found.advance.highest_deg) == (8.0, 36.0)
    assert found.advance.source == "map version 2, draft"
    assert found.advance.map_number == draft.number


def test_what_vacuum_adds_and_the_rev_limit_are_in_the_range():
    """By hand: 8 + 18 at 3000 + 12 of the capsule is 38; above the limit at 2000 it never runs: 8 + 10 + 12 = 30."""
    job = job_with(**FOUR)
    ramp = {
        "vacuum_scheme": "ramp", "vacuum_start_kpa": 10.0, "vacuum_full_kpa": 40.0, "vacuum_full_deg": 12.0,
    }  # fmt: skip
    curve = [[1000, 0], [2000, 10], [3000, 18]]
    MapVersionFactory(job=job, base_deg=8.0, curve=curve, **ramp)
    assert rotor_page(job).advance.highest_deg == pytest.approx(38.0)
    MapVersionFactory(job=job, number=2, base_deg=8.0, curve=curve, rev_limit_rpm=2000.0, **ramp)
    assert rotor_page(job).advance.highest_deg == pytest.approx(30.0)


def test_a_unit_that_counts_from_dead_centre_has_the_same_range(actor):
    job = job_with(**FOUR)
    absolute = UnitTypeRevisionFactory(capability=capability_of(FALLOW))
    MapVersionFactory(job=job, unit_revision=absolute, base_deg=8.0, curve=[[400, 0], [6400, 18]], rev_limit_rpm=None)
    found = rotor_page(job).advance
    assert (found.lowest_deg, found.highest_deg) == (8.0, 26.0)


def test_without_a_map_the_factory_s_data_give_the_range(mechanic, browser_of):
    """By hand: 8 at cranking; 13 and 6 distributor degrees are 26 and 12 of the crank, 8 + 26 + 12 = 46."""
    job = job_with(
        **FOUR, base_timing_deg=8.0, factory_band=[[400, 0.5, 1], [2250, 11, 13]],
        capsule_start_kpa=14.0, capsule_full_kpa=40.0, capsule_full_deg=6.0,
    )  # fmt: skip
    text = words_of(page(browser_of(mechanic), job))
    assert re.search(r"8° to 46°\s*&nbsp;BTDC", text)
    assert "no map yet: factory base timing, band and capsule" in text


def test_without_a_capsule_the_factory_s_range_is_that_of_the_band_and_says_so():
    job = job_with(**FOUR, base_timing_deg=8.0, factory_band=[[400, 0, 1], [2250, 11, 13]])
    advance = rotor_page(job).advance
    assert (advance.lowest_deg, advance.highest_deg) == (8.0, 34.0)
    assert "no capsule" in advance.source


def test_a_two_stroke_s_distributor_turns_with_the_crank():
    """By hand: a band of 13° is 13° of the crank, from 8 to 21; in line half way, at 14.5 of crank and distributor."""
    job = job_with(
        cylinders=2, engine={"strokes": 2}, **FOUR, base_timing_deg=8.0, factory_band=[[400, 0, 1], [2250, 11, 13]]
    )
    found = rotor_page(job)
    assert found.advance.highest_deg == 21.0
    assert found.phasing.best_aligned_deg == 14.5
    assert found.phasing.crank_turns == 1


def test_missing_figures_are_named_and_there_is_no_picture(mechanic, browser_of):
    html = page(browser_of(mechanic), job_with(cylinders=None))
    for words in (
        "the rotor&#x27;s radius",
        "the rotor tip&#x27;s width",
        "the cap terminal&#x27;s width",
        "the rotor&#x27;s air gap",
        "the number of cylinders",
        "a map for this car, or the factory base timing and the factory advance band",
        "where the trigger sits",
    ):
        assert words in html
    assert "chart-phasing" not in html


def test_a_capsule_known_by_halves_is_asked_for_rather_than_left_out():
    job = job_with(
        **FOUR, trigger_place="crank or camshaft", base_timing_deg=8.0, factory_band=[[400, 0, 1], [2250, 11, 13]],
        capsule_full_kpa=40.0,
    )  # fmt: skip
    assert "a map for this car, or the maximum vacuum advance" in rotor_page(job).missing


def test_what_is_known_already_is_not_asked_for():
    job = job_with(**(FOUR | CONTACTS | {"post_width_mm": None}))
    mapped(job, 8, 40)
    assert rotor_page(job).missing == ("the cap terminal's width", "the rotor tip at the trigger's edge")


def test_the_car_s_figures_are_changed_only_by_those_who_may(owner, front_desk, mechanic, browser_of):
    job = job_with(**FOUR)
    change = reverse("vehicles:edit", args=[job.vehicle_id])
    for person in (owner, front_desk, mechanic):
        assert (change in page(browser_of(person), job)) is person.has_perm("garage.book_jobs"), person


def test_figures_that_cannot_be_right_are_refused_in_words(mechanic, browser_of):
    """By hand: posts at a radius of 5 mm stand 7.9 mm apart, so none is 20 mm wide."""
    job = job_with(**(FOUR | {"rotor_tip_radius_mm": 5.0, "post_width_mm": 20.0}))
    mapped(job, 8, 40)
    text = words_of(page(browser_of(mechanic), job))
    assert "These figures cannot be right: terminals 20 mm wide would reach from terminal to terminal" in text


def test_a_band_that_contradicts_itself_is_said_to():
    job = job_with(**FOUR, base_timing_deg=8.0, factory_band=[[400, 3, 1], [2250, 11, 13]])
    assert "at 400 distributor rpm the lowest advance, 3°, is above the highest, 1°" in rotor_page(job).troubles[0]


def test_a_single_has_no_rotor_and_its_sheet_leads_to_none(mechanic, browser_of):
    job, client = job_with(cylinders=1), browser_of(mechanic)
    assert "has no rotor and cap" in page(client, job)
    assert "fitting/rotor/" not in client.get(f"/jobs/{job.code}/fitting/").text


def test_posts_that_do_not_stand_evenly_are_warned_of(mechanic, browser_of):
    job, client = job_with(engine={"cap_terminals_even": False}, **FOUR), browser_of(mechanic)
    mapped(job, 8, 40)
    assert "not evenly spaced" in page(client, job)
    described(job.vehicle.engine, cap_terminals_even=True)
    assert "not evenly spaced" not in page(client, job)


def test_the_cautions_of_turning_the_engine_and_of_the_strobe_stand_there(mechanic, browser_of):
    text = page(browser_of(mechanic), job_with(**FOUR))
    for caution in ("Turning the engine", "Strobe light", "High voltage", "Local rules"):
        assert caution in text


def test_the_limits_say_that_they_are_common_practice(mechanic, browser_of):
    job = job_with(**FOUR)
    mapped(job, 8, 40)
    assert "Limits are common practice, no source: overlap 1 mm" in page(browser_of(mechanic), job)


def test_the_sheet_and_the_rotor_s_items_lead_there_and_others_do_not(mechanic, browser_of):
    sheet = sheet_with(
        [{"key": "rotor-overlap-lowest", "kind": "measure", "unit": "mm"}, {"key": "fuse"}], person=mechanic
    )
    client, rotor = browser_of(mechanic), reverse("fitting:rotor", args=[sheet.job.code])
    assert rotor in client.get(f"/jobs/{sheet.job.code}/fitting/").text
    item = f"/jobs/{sheet.job.code}/sheet/fitting/items/{{}}/"
    assert rotor in client.get(item.format("rotor-overlap-lowest")).text
    assert rotor not in client.get(item.format("fuse")).text


def test_the_items_that_lead_there_come_along():
    assert {item.key for one in shipped_lists() for item in one.items} >= ABOUT_THE_ROTOR


@pytest.mark.parametrize("code", ["26-9999", "x", "26-00000000000000000001"])
def test_an_unknown_job_is_not_found(code, mechanic, browser_of):
    assert_not_found(browser_of(mechanic).get(f"/jobs/{code}/fitting/rotor/"))


def test_it_agrees_with_the_review_of_the_map():
    """The review's stop and the page are of one mind on either side of the widest range, 51.6° of crank."""
    from jobs.bench.version_on_bench import on_the_bench

    for highest, kind in ((43, PhasingKind.HOLDS), (46, PhasingKind.RANGE_TOO_WIDE)):
        job = job_with(**FOUR)
        version = mapped(job, -8, highest)
        codes = {one.finding.code for one in on_the_bench(version).findings}
        assert rotor_page(job).phasing.kind is kind
        assert ("rotor-phasing" in codes) is (kind is not PhasingKind.HOLDS)
