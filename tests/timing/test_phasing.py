"""The rotor under the cap of a locked distributor: worked caps of the handbook, geometry by other means, edges."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.published import rows
from timing.distributor import DistributorError, Neighbour, PhasingKind, rotor_phasing, sensor_position
from timing.errors import TimingError

ROWS = rows("rotor_phasing.csv")
# Four posts, the first cap of the handbook: radius 20, tip 7, post 4, gap 0.7 mm.
CAP = {"terminals": 4, "tip_radius_mm": 20, "tip_width_mm": 7, "post_width_mm": 4, "radial_gap_mm": 0.7}


def phasing_of(row):
    return rotor_phasing(
        int(row["cylinders"]),
        row["adv_min"],
        row["adv_max"],
        row["tip_radius_mm"],
        row["tip_width_mm"],
        row["post_width_mm"],
        row["radial_gap_mm"],
        row["phased_adv"],
    )


class TestWorkedCaps:
    @pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['cylinders']:g} at {row['spark_adv']:g}")
    def test_both_ends_come_out_as_printed(self, row):
        found = phasing_of(row)
        end = found.lowest if row["spark_adv"] == row["adv_min"] else found.highest
        assert end.spark_deg == row["spark_adv"]
        assert end.offset_deg == pytest.approx(row["offset_dist_deg"], abs=5e-5), "handbook 7, rotor_phasing.csv"
        assert end.offset_mm == pytest.approx(row["offset_mm"], abs=5e-5)
        assert end.overlap_mm == pytest.approx(row["overlap_mm"], abs=5e-5)
        assert end.own_gap_mm == pytest.approx(row["own_gap_mm"], abs=5e-5)
        assert end.neighbour_gap_mm == pytest.approx(row["neighbour_gap_mm"], abs=5e-5)
        assert end.ratio == pytest.approx(row["ratio"], abs=5e-4)
        assert found.at(row["spark_adv"]) == end
        assert found.ends == (found.lowest, found.highest)

    @pytest.mark.parametrize(("row", "best"), [(ROWS[0], 24), (ROWS[2], 24), (ROWS[4], 24), (ROWS[8], 26)])
    def test_the_best_place_is_the_middle_of_the_range(self, row, best):
        assert phasing_of(row).best_aligned_deg == best, "handbook 7"
        assert phasing_of(row).aligned_at_deg == row["phased_adv"]

    @pytest.mark.parametrize(
        ("row", "kind", "source"),
        [
            (ROWS[0], PhasingKind.HOLDS, "handbook 7: centred"),
            (ROWS[2], PhasingKind.MOVE_THE_LOCK, "handbook 7: locked at rest, just off the post"),
            (ROWS[6], PhasingKind.MOVE_THE_LOCK, "handbook 7: 0.1357 mm of overlap, 1 is wanted"),
            (ROWS[10], PhasingKind.MOVE_THE_LOCK, "handbook 7: refuse; centred it would hold"),
        ],
    )
    def test_the_worked_caps_are_judged_as_printed(self, row, kind, source):
        assert phasing_of(row).kind is kind, source

    def test_left_out_it_is_reckoned_as_centred(self):
        assert rotor_phasing(**CAP, lowest_deg=8, highest_deg=40) == phasing_of(ROWS[0])
        assert hash(rotor_phasing(**CAP, lowest_deg=8, highest_deg=40)) == hash(phasing_of(ROWS[0]))

    def test_on_a_two_stroke_the_tip_moves_by_the_whole_angle(self):
        found = rotor_phasing(**CAP, lowest_deg=16, highest_deg=32, strokes=2)
        assert found.highest.offset_deg == 8, "handbook 2: k = 1"
        assert found.highest.offset_mm == pytest.approx(2.7925, abs=5e-5), "handbook 7, 8 distributor degrees"
        assert found.at(32) == found.highest


class TestGeometry:
    @given(
        st.integers(2, 12),
        st.floats(-20, 60),
        st.floats(-20, 60),
        st.floats(12, 40),
        st.floats(0.1, 0.9),
        st.floats(0.1, 0.9),
        st.floats(0.2, 2),
    )
    def test_gaps_are_those_to_the_nearest_posts(self, terminals, spark, aligned, radius, tip, post, gap):
        pitch = 2 * math.pi * radius / terminals
        end = rotor_phasing(terminals, -20, 60, radius, tip * pitch, post * pitch, gap, aligned).at(spark)
        # Every post round the cap, its middle measured from the tip the short way; the own post is number 0.
        tip_at = -math.radians((spark - aligned) / 2)
        away = [
            abs(math.remainder(2 * math.pi * number / terminals - tip_at, 2 * math.pi)) * radius
            for number in range(terminals)
        ]
        clear = [max(0.0, arc - (tip + post) * pitch / 2) for arc in away]
        assert end.own_gap_mm == pytest.approx(math.hypot(gap, clear[0])), "by hand, post by post"
        assert end.neighbour_gap_mm == pytest.approx(math.hypot(gap, min(clear[1:]))), "by hand, post by post"
        assert end.ratio == pytest.approx(end.neighbour_gap_mm / end.own_gap_mm)

    @given(st.floats(-20, 60), st.floats(-20, 60))
    def test_centred_is_never_worse_than_any_other_place(self, low, high):
        low, high = sorted((low, high))
        best = rotor_phasing(**CAP, lowest_deg=low, highest_deg=high)
        for aligned in (low, (3 * low + high) / 4, high):
            other = rotor_phasing(**CAP, lowest_deg=low, highest_deg=high, aligned_at_deg=aligned)
            assert min(end.overlap_mm for end in best.ends) >= min(end.overlap_mm for end in other.ends) - 1e-12
            assert min(end.ratio for end in best.ends) >= min(end.ratio for end in other.ends) - 1e-12

    @pytest.mark.parametrize("row", ROWS[::2], ids=lambda row: f"{row['cylinders']:g}")
    @pytest.mark.parametrize(("overlap", "ratio"), [(1.0, 5.0), (3.0, 5.0), (0.0, 10.0), (0.0, 0.5)])
    def test_the_widest_range_just_holds(self, row, overlap, ratio):
        limits = {"least_overlap_mm": overlap, "least_ratio": ratio}
        cap = [row[name] for name in ("tip_radius_mm", "tip_width_mm", "post_width_mm", "radial_gap_mm")]
        widest = rotor_phasing(int(row["cylinders"]), 20, 20, *cap, **limits).widest_range_deg
        for width, kind in ((widest - 0.001, "holds"), (widest + 0.001, "range_too_wide")):
            found = rotor_phasing(int(row["cylinders"]), 20 - width / 2, 20 + width / 2, *cap, **limits)
            assert found.kind == kind, "tried on both sides"

    @pytest.mark.parametrize(
        ("spark", "neighbour"), [(25, Neighbour.JUST_LEFT), (23, Neighbour.NEXT), (24, Neighbour.EITHER)]
    )
    def test_an_early_spark_is_nearer_the_post_just_left(self, spark, neighbour):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40)
        assert found.at(spark).neighbour is neighbour, "handbook 7: early, the tip has not yet come"
        assert found.highest.neighbour == "the post just left"
        assert found.lowest.neighbour == "the next post"


class TestSentences:
    def test_what_holds_says_by_how_much(self):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40)
        assert "covers its post by 2.7 mm or more from 8° to 40°" in found.sentences[0]
        assert "33.0 times nearer" in found.sentences[0]

    def test_a_tip_off_its_post_says_where_and_what_to_do(self):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, aligned_at_deg=8)
        assert "At 40° the rotor tip is 16.0 distributor degrees before its post" in found.sentences[0]
        assert "is 0.1 mm clear of its post; 1 mm of overlap is wanted" in found.sentences[0]
        assert "in line at 24° instead of 8°" in found.sentences[1]
        assert "turning the distributor's body does not change this" in found.sentences[1]

    def test_a_late_spark_too_near_the_next_post_is_called_dangerous(self):
        found = rotor_phasing(8, 6, 46, 24, 9, 5, 0.7, 46)
        assert any("past its post" in sentence for sentence in found.sentences)
        assert any("to the next post, whose cylinder holds fresh charge: the dangerous" in s for s in found.sentences)

    def test_an_early_spark_too_near_the_post_just_left_says_so(self):
        found = phasing_of(ROWS[11])
        assert any(
            "1.5 mm to its own post and 3.5 mm to the post just left, whose cylinder is at the end" in sentence
            for sentence in found.sentences
        ), "handbook 7: 1.5452 and 3.5418 mm"

    def test_a_range_no_lock_can_serve_is_to_be_narrowed(self):
        found = rotor_phasing(**CAP, lowest_deg=0, highest_deg=60)
        assert found.kind is PhasingKind.RANGE_TOO_WIDE
        # (11/2 - 1) mm at radius 20 is 12.89 distributor degrees each way: 51.57 of crank.
        assert found.widest_range_deg == pytest.approx(4 * math.degrees(4.5 / 20)), "by hand"
        assert any("narrow the range to 51°" in sentence for sentence in found.sentences)

    def test_a_rotor_that_fits_nowhere_cannot_stay(self):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, least_overlap_mm=6)
        assert found.widest_range_deg == 0
        assert any("they cannot stay" in sentence for sentence in found.sentences)

    @pytest.mark.parametrize(("overlap", "holds"), [(2.70, True), (2.71, False)])
    def test_the_least_overlap_is_a_setting(self, overlap, holds):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, least_overlap_mm=overlap)
        assert (found.kind is PhasingKind.HOLDS) is holds, "handbook 7: 2.7075 mm"

    @pytest.mark.parametrize(("ratio", "holds"), [(33.0, True), (33.1, False)])
    def test_the_least_ratio_is_a_setting(self, ratio, holds):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, least_ratio=ratio)
        assert (found.kind is PhasingKind.HOLDS) is holds, "handbook 7: 33.049"

    def test_geometry_does_not_excuse_a_tracked_cap(self):
        for aligned in (None, 8):
            found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, aligned_at_deg=aligned)
            assert "carbon tracks inside fails whatever the geometry says" in found.sentences[-1], "handbook 7"


class TestBadInput:
    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"terminals": 0}, "the number of cap terminals must be 2 or more, not 0"),
            ({"terminals": 1}, "the number of cap terminals must be 2 or more, not 1"),
            ({"terminals": 4.5}, "must be a whole number, not 4.5"),
            ({"lowest_deg": 41}, "the lowest advance, 41°, is above the highest, 40°"),
            ({"lowest_deg": math.nan}, "the lowest advance must be a finite number"),
            ({"lowest_deg": -61}, "the lowest advance must be -60 degrees or more, not -61"),
            ({"highest_deg": 91}, "the highest advance must be 90 degrees or less, not 91"),
            ({"tip_radius_mm": 0}, "the radius of the rotor tip must be above 0 mm, not 0"),
            ({"tip_width_mm": -7}, "the width of the rotor tip must be above 0 mm, not -7"),
            ({"post_width_mm": 0}, "the width of a cap post must be above 0 mm, not 0"),
            ({"radial_gap_mm": 0}, "the gap between rotor tip and post must be above 0 mm, not 0"),
            ({"post_width_mm": 32}, "posts 32 mm wide would reach from post to post.*stand 31.4 mm apart"),
            ({"tip_width_mm": 32}, "a rotor tip 32 mm wide would reach from post to post"),
            ({"aligned_at_deg": 100}, "in line must be 90 degrees or less, not 100"),
            ({"least_overlap_mm": -1}, "the least overlap must be 0 mm or more"),
            ({"least_ratio": 0}, "the least ratio of gaps must be above 0"),
            ({"strokes": 3}, "not 3"),
        ],
    )
    def test_what_makes_no_cap_is_refused(self, changes, message):
        with pytest.raises(TimingError, match=message):
            rotor_phasing(**{**CAP, "lowest_deg": 8, "highest_deg": 40, **changes})

    def test_a_spark_beyond_any_timing_is_refused(self):
        with pytest.raises(TimingError, match="the spark must be 90 degrees or less, not 120"):
            rotor_phasing(**CAP, lowest_deg=8, highest_deg=40).at(120)

    def test_a_range_upside_down_is_a_refusal_of_this_room(self):
        with pytest.raises(DistributorError):
            rotor_phasing(**CAP, lowest_deg=40, highest_deg=8)


class TestSensor:
    def test_the_rotor_stands_half_the_crank_angle_before_its_post(self):
        found = sensor_position(60, 24, 46, 4)
        assert found.rotor_offset_deg == 18, "handbook 7: sensor at 60, in line at 24"
        assert found.room_deg == 14
        assert found.holds
        assert "18 distributor degrees before its post; 14° are left" in found.sentence

    @pytest.mark.parametrize(("highest", "holds"), [(59.9, True), (60, False), (64, False)])
    def test_a_unit_cannot_spark_before_the_edge_it_waits_for(self, highest, holds):
        found = sensor_position(60, 24, highest, 4)
        assert found.holds is holds, "handbook 7: the highest advance must stay below the sensor"
        assert found.previous_edge_deg == 240, "four posts on a four-stroke: 180 crank degrees apart"
        assert ("from the edge before, at 240°" in found.sentence) is not holds

    @pytest.mark.parametrize(("terminals", "strokes", "previous"), [(6, 4, 180), (8, 4, 150), (2, 2, 240)])
    def test_the_edge_before_is_one_firing_interval_earlier(self, terminals, strokes, previous):
        assert sensor_position(60, 24, 64, terminals, strokes).previous_edge_deg == previous, "handbook 2"

    def test_a_sensor_after_the_post_has_the_tip_past_it(self):
        found = sensor_position(10, 24, 8, 4)
        assert found.rotor_offset_deg == -7
        assert "7 distributor degrees past its post" in found.sentence

    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            ((-1, 24, 46, 4), "the sensor's edge must be 0 degrees or more, not -1"),
            ((60, math.nan, 46, 4), "in line must be a finite number"),
            ((60, 24, 46, 0), "the number of cap terminals must be 2 or more, not 0"),
            ((60, 24, 46, 25), "the number of cap terminals must be 24 or less, not 25"),
        ],
    )
    def test_what_makes_no_sensor_is_refused(self, arguments, message):
        with pytest.raises(TimingError, match=message):
            sensor_position(*arguments)
