"""What brings the rotor into line by the place of the trigger: on the distributor, on the crank, or no rotor at all.

The worked cars: handbook, section 7.
"""

import re

import pytest
from django.urls import reverse

from jobs.fitting.rotor import rotor_page
from tests.fitting.rotor_cars import (
    CONTACTS,
    CRANK,
    FOUR,
    cells,
    job_with,
    mapped,
    measured,
    page,
    words_of,
)
from timing.distributor import PhasingKind, RemedyKind

pytestmark = pytest.mark.django_db


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
        assert offsets == ["0.0", "16.0", "−8.0", "8.0"]

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
        assert rotor_page(job).missing == ("the crank angle at which rotor and terminal are in line",)


def test_a_twin_of_which_the_sheet_says_no_rotor_is_asked_for_nothing(mechanic, browser_of):
    job = job_with(cylinders=2, trigger="contact breaker")
    assert "whether a rotor and cap are fitted" in rotor_page(job).missing
    measured(job, mechanic, rotor_of_a_twin="no rotor")
    assert "no rotor and cap" in page(browser_of(mechanic), job)


class TestWithoutTheRim:
    """An arc is an angle only on a rim of known size; a tip in line is in line on any."""

    def test_a_tip_in_line_is_judged_without_it(self, mechanic):
        job = job_with(**FOUR, **CONTACTS | {"rim_diameter_mm": None})
        mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=0.0)
        found = rotor_page(job)
        assert found.missing == ()
        assert found.phasing.kind is PhasingKind.OUT_OF_LINE

    def test_a_tip_out_of_line_was_measured_and_waits_for_the_rim(self, mechanic, browser_of):
        job = job_with(**FOUR, **CONTACTS | {"rim_diameter_mm": None})
        mapped(job, 8, 40)
        measured(job, mechanic, tip_at_edge=-4.5)
        words = words_of(page(browser_of(mechanic), job))
        assert "the diameter of the distributor's rim" in words.replace("&#x27;", "'")
        assert "figures missing" in words
        assert "not measured yet" not in words.casefold()


def test_the_place_the_page_goes_by_is_the_one_it_shows(mechanic, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    known = words_of(page(browser_of(mechanic), job)).partition("From the car’s record")[2]
    assert "Place of the trigger in the distributor" in known
