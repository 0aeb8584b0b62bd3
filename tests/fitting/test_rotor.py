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
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory, UnitTypeRevisionFactory, released_version
from tests.pages import assert_not_found
from tests.timing.published import rows
from timing.distributor import PhasingKind, RemedyKind

pytestmark = pytest.mark.django_db

FOUR = {"rotor_tip_radius_mm": 20.0, "rotor_tip_width_mm": 7.0, "post_width_mm": 4.0, "rotor_gap_mm": 0.7}
CONTACTS = {"trigger": "contact breaker", "rotation": "clockwise", "plate_moves": True, "rim_diameter_mm": 64.0}
CRANK = {"trigger": "inductive", "trigger_place": "crank or camshaft", "rotation": "clockwise", "rim_diameter_mm": 64.0}
ITEMS = [
    {"key": "edge-told", "kind": "choice", "choices": ["edge is base timing", "edge entered apart"]},
    {"key": "trigger-edge", "kind": "measure", "unit": "° BTDC"},
    {"key": "tip-at-edge", "kind": "measure", "unit": "mm"},
    {"key": "rotor-in-line-at", "kind": "measure", "unit": "° BTDC"},
    {"key": "rotor-of-a-twin", "kind": "choice", "choices": ["1 mm or more", "less than 1 mm", "no rotor"]},
]


def job_with(cylinders=4, engine=None, **distributor):
    """A job whose car is known as far as told."""
    job = JobFactory(stage="fitting")
    described(job.vehicle.engine, cylinders=cylinders, **(engine or {}))
    described(job.vehicle.distributor, **distributor)
    return job


def described(part, **figures):
    for name, figure in figures.items():
        setattr(part, name, figure)
    part.save()


def mapped(job, lowest, highest, **version):
    """A draft whose total goes from one figure to the other."""
    curve = [[800, 0], [5000, highest - lowest]]
    return MapVersionFactory(job=job, base_deg=lowest, curve=curve, **version)


def measured(job, person, **figures):
    """The job's fitting sheet with these figures on it."""
    sheet = sheet_with(ITEMS, person=person, job=job)
    for name, value in figures.items():
        one = {"choice": value} if isinstance(value, str) else {"measure": value}
        enter(sheet, name.replace("_", "-"), person, **one)
    return sheet


def page(client, job):
    answer = client.get(f"/jobs/{job.code}/fitting/rotor/")
    assert answer.status_code == 200
    return answer.text


def words_of(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))


def cells(html):
    """The table of both ends: the name of each row, then the figure of either end."""
    found = {}
    for name, row in re.findall(r'<tr data-figure="(\w+)">(.*?)</tr>', html, re.DOTALL):
        found[name] = [cell.strip() for cell in re.findall(r"<td>(.*?)</td>", row, re.DOTALL)]
    return found


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
        assert float(shown[name]) == pytest.approx(row[column], abs=0.51 * 10**-places), name
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
    assert "At -10° the rotor tip is 14.0 distributor degrees past its terminal" in text
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


class TestTriggerInTheDistributor:
    """Worked in section 7: edge and base 8, tip in line at the edge, range 8 to 40: plate 8 with, body 8 against."""

    def test_the_plate_is_moved_with_the_turn_and_the_body_against_it(self, mechanic, browser_of):
        job = job_with(**FOUR, **CONTACTS)
        mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=0.0)
        text = words_of(page(browser_of(mechanic), job))
        assert "out of line" in text
        assert "At 40° the rotor tip is 16.0 distributor degrees before its terminal and clears it by 0.1 mm" in text
        # 8 degrees of a rim of 32 mm radius: 4.47 mm
        assert (
            "Move the plate or pick-up 8.0 distributor degrees (4.5 mm) with the turn of the rotor, clockwise. "
            "Then turn the body 8.0 distributor degrees (4.5 mm) against the turn of the rotor, anticlockwise. "
            "That brings the edge back to 8° BTDC." in re.sub(r"\s+", " ", text)
        )
        assert "Locking the weights at another angle does not help: cam and rotor move together." in text
        assert "Turning the body alone does not move the tip at the edge: plate and cap move together." in text

    def test_the_picture_and_the_table_show_both_ends_now_and_after(self, mechanic, browser_of):
        job = job_with(**FOUR, **CONTACTS)
        mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=0.0)
        html = page(browser_of(mechanic), job)
        assert "Now: lowest advance, 8° BTDC" in html
        assert "After: highest advance, 40° BTDC" in html
        offsets = cells(html)["offset_deg"]
        assert offsets == ["0.0", "16.0", "-8.0", "8.0"]

    def test_measured_again_after_the_move_it_holds(self, mechanic, browser_of):
        """By hand: 8 degrees past the post is -4.468 mm of a rim of 32 mm radius."""
        job = job_with(**FOUR, **CONTACTS)
        mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=-4.468)
        found, text = rotor_page(job), words_of(page(browser_of(mechanic), job))
        assert found.setting.aligned_at_deg == pytest.approx(24, abs=0.01)
        assert "aligned at both ends" in text
        assert re.search(r"Tip at the edge 8\.0°\s+&nbsp;distributor\s+past its terminal", text)
        assert "What to do" not in text

    def test_each_figure_says_where_it_comes_from_and_leads_there(self, mechanic, browser_of):
        job = job_with(**FOUR, **CONTACTS)
        version = mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=0.0)
        html = page(browser_of(mechanic), job)
        assert f"fitting sheet, {mechanic}" in html
        assert reverse("checklists:item", args=[job.code, "fitting", "tip-at-edge"]) in html
        assert f"base timing, map version {version.number}, draft" in html
        assert reverse("bench:version", args=[job.code, version.number]) in html

    def test_the_edge_is_base_timing_whatever_was_read_with_the_engine_standing(self, mechanic, browser_of):
        job = job_with(**FOUR, **CONTACTS)
        mapped(job, 8, 40)
        measured(job, mechanic, trigger_edge=20.0, tip_at_edge=0.0)
        assert rotor_page(job).edge_deg == 8.0
        assert "At rest, the edge was read at 20° BTDC" in words_of(page(browser_of(mechanic), job))

    def test_an_edge_that_the_unit_is_told_apart_is_the_one_of_the_sheet(self, mechanic):
        """Handbook 7: edge at 60, in line at 24 wanted: 18 distributor degrees; on a rim of 32 mm radius 10.053 mm."""
        job = job_with(**FOUR, **CONTACTS)
        mapped(job, 8, 40)
        measured(job, mechanic, edge_told="edge entered apart", trigger_edge=60.0, tip_at_edge=10.053)
        found = rotor_page(job)
        assert found.edge_deg == 60.0
        assert found.setting.aligned_at_deg == pytest.approx(24, abs=0.01)
        assert found.phasing.kind is PhasingKind.HOLDS

    def test_with_an_edge_told_apart_the_body_alone_serves_too(self, mechanic):
        job = job_with(**FOUR, **CONTACTS)
        mapped(job, 8, 40)
        measured(job, mechanic, edge_told="edge entered apart", trigger_edge=8.0, tip_at_edge=0.0)
        kinds = [remedy.kind for remedy in rotor_page(job).advice.remedies]
        assert kinds[:3] == [RemedyKind.MOVE_PLATE, RemedyKind.REINDEX_ROTOR, RemedyKind.SET_EDGE]

    def test_a_plate_that_cannot_be_moved_leaves_the_rotor_to_be_re_indexed(self, mechanic, browser_of):
        job = job_with(**FOUR, **(CONTACTS | {"plate_moves": False}))
        mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=0.0)
        text = words_of(page(browser_of(mechanic), job))
        assert rotor_page(job).remedy.kind is RemedyKind.REINDEX_ROTOR
        assert "Move the plate" not in text

    def test_without_the_way_it_turns_no_hand_of_the_clock_is_named(self, mechanic, browser_of):
        job = job_with(**FOUR, **(CONTACTS | {"rotation": ""}))
        mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=0.0)
        text = words_of(page(browser_of(mechanic), job))
        assert "with the turn of the rotor. Then turn" in re.sub(r"\s+", " ", text)
        assert "turn the crank by hand and look" in text

    def test_an_arc_longer_than_half_the_rim_stops_no_page(self, mechanic, browser_of):
        job = job_with(**FOUR, **CONTACTS)
        version = mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=150.0)
        client = browser_of(mechanic)
        assert "cannot be right" in words_of(page(client, job))
        assert client.get(f"/jobs/{job.code}/map/{version.number}/").status_code == 200

    def test_the_review_of_the_map_names_the_same_bolts(self, mechanic):
        from jobs.bench.version_on_bench import on_the_bench

        job = job_with(**FOUR, **CONTACTS)
        version = mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=0.0)
        said = {one.finding.code: one.finding.sentence for one in on_the_bench(version).findings}
        assert "Move the plate or pick-up 8.0 distributor degrees with the turn of the rotor." in said["rotor-phasing"]
        assert not any("lock the" in sentence.lower() for sentence in said.values())


class TestTriggerOnTheCrank:
    def test_the_body_alone_brings_it_into_line_and_nothing_is_said_of_an_edge(self, mechanic, browser_of):
        """Section 7: in line at 8, wanted 24: the body 8 distributor degrees against the turn."""
        job = job_with(**FOUR, **CRANK)
        mapped(job, 8, 40)
        measured(job, mechanic, rotor_in_line_at=8.0)
        text = re.sub(r"\s+", " ", words_of(page(browser_of(mechanic), job)))
        assert "Tip and terminal in line at 8° BTDC" in text
        assert "Turn the body 8.0 distributor degrees (4.5 mm) against the turn of the rotor, anticlockwise." in text
        assert "This distributor triggers nothing: its body sets the rotor under the cap" in text
        assert "Trigger’s edge" not in text
        assert "plate" not in text.split("Worked out from")[0].split("From the car")[0]

    def test_it_asks_for_the_angle_at_which_they_are_in_line(self, mechanic):
        job = job_with(**FOUR, **CRANK)
        mapped(job, 8, 40)
        assert rotor_page(job).missing == ("the crank angle at which rotor and post are in line",)


def test_a_twin_of_which_the_sheet_says_no_rotor_is_asked_for_nothing(mechanic, browser_of):
    job = job_with(cylinders=2, trigger="contact breaker")
    assert "whether a rotor and cap are fitted" in rotor_page(job).missing
    measured(job, mechanic, rotor_of_a_twin="no rotor")
    assert "no rotor and cap" in page(browser_of(mechanic), job)
