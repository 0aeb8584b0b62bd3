"""The rotor under the cap of a locked distributor: worked caps of the handbook, geometry by other means, edges."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.published import rows
from timing.distributor import DistributorError, Neighbour, PhasingKind, rotor_phasing
from timing.errors import TimingError

ROWS = rows("rotor_phasing.csv")
# Four terminals, the first cap of the handbook: radius 20, tip 7, terminal 4, gap 0.7 mm.
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
        assert end.offset_dist_deg == pytest.approx(row["offset_dist_deg"], abs=5e-5), "handbook 7, rotor_phasing.csv"
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
            (ROWS[2], PhasingKind.OUT_OF_LINE, "handbook 7: edge at base timing, just off the terminal"),
            (ROWS[6], PhasingKind.OUT_OF_LINE, "handbook 7: 0.1357 mm of overlap, 1 is wanted"),
            (ROWS[10], PhasingKind.OUT_OF_LINE, "handbook 7: refuse; centred it would hold"),
        ],
    )
    def test_the_worked_caps_are_judged_as_printed(self, row, kind, source):
        assert phasing_of(row).kind is kind, source

    def test_left_out_it_is_reckoned_as_centred(self):
        assert rotor_phasing(**CAP, lowest_deg=8, highest_deg=40) == phasing_of(ROWS[0])
        assert hash(rotor_phasing(**CAP, lowest_deg=8, highest_deg=40)) == hash(phasing_of(ROWS[0]))

    def test_on_a_two_stroke_the_tip_moves_by_the_whole_angle(self):
        found = rotor_phasing(**CAP, lowest_deg=16, highest_deg=32, strokes=2)
        assert found.highest.offset_dist_deg == 8, "handbook 2: k = 1"
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
        # Every terminal round the cap, its middle measured from the tip the short way; the own terminal is number 0.
        tip_at = -math.radians((spark - aligned) / 2)
        away = [
            abs(math.remainder(2 * math.pi * number / terminals - tip_at, 2 * math.pi)) * radius
            for number in range(terminals)
        ]
        clear = [max(0.0, arc - (tip + post) * pitch / 2) for arc in away]
        assert end.own_gap_mm == pytest.approx(math.hypot(gap, clear[0])), "by hand, terminal by terminal"
        assert end.neighbour_gap_mm == pytest.approx(math.hypot(gap, min(clear[1:]))), "by hand, terminal by terminal"
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
        assert found.highest.neighbour == "the terminal just left"
        assert found.lowest.neighbour == "the next terminal"


class TestVerdict:
    @pytest.mark.parametrize(("overlap", "holds"), [(2.70, True), (2.71, False)])
    def test_the_least_overlap_is_a_setting(self, overlap, holds):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, least_overlap_mm=overlap)
        assert (found.kind is PhasingKind.HOLDS) is holds, "handbook 7: 2.7075 mm"

    @pytest.mark.parametrize(("ratio", "holds"), [(33.0, True), (33.1, False)])
    def test_the_least_ratio_is_a_setting(self, ratio, holds):
        found = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, least_ratio=ratio)
        assert (found.kind is PhasingKind.HOLDS) is holds, "handbook 7: 33.049"

    def test_a_limit_met_exactly_holds(self):
        # A tip so wide that 8 distributor degrees leave 1 mm of overlap, but for the rounding of the arc.
        off = math.radians(8) * 20
        found = rotor_phasing(4, 8, 40, 20, 2 * (off + 1) - 4, 4, 0.7)
        assert found.highest.overlap_mm == pytest.approx(1, abs=1e-12), "by hand"
        assert found.kind is PhasingKind.HOLDS
        limit = phasing_of(ROWS[0]).highest.ratio
        exact = rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, least_ratio=limit)
        assert exact.kind is PhasingKind.HOLDS

    def test_a_range_no_setting_can_serve_has_a_widest_that_can(self):
        found = rotor_phasing(**CAP, lowest_deg=0, highest_deg=60)
        assert found.kind is PhasingKind.RANGE_TOO_WIDE
        # (11/2 - 1) mm at radius 20 is 12.89 distributor degrees each way: 51.57 of crank.
        assert found.widest_range_deg == pytest.approx(4 * math.degrees(4.5 / 20)), "by hand"

    def test_a_rotor_that_fits_nowhere_serves_no_range(self):
        assert rotor_phasing(**CAP, lowest_deg=8, highest_deg=40, least_overlap_mm=6).widest_range_deg == 0

    def test_the_same_rotor_can_be_judged_again_in_line_elsewhere(self):
        again = phasing_of(ROWS[2]).again(aligned_at_deg=24)
        assert again == phasing_of(ROWS[0])
        narrower = again.again(aligned_at_deg=20, lowest_deg=10, highest_deg=30)
        assert narrower == rotor_phasing(**CAP, lowest_deg=10, highest_deg=30, aligned_at_deg=20)

    def test_an_end_that_fails_is_told_from_one_that_holds(self):
        found = phasing_of(ROWS[2])
        assert [found.fails_at(end) for end in found.ends] == [False, True], "handbook 7: just off the terminal at 40"


class TestTipWidth:
    def test_a_tip_too_near_its_neighbours_must_be_narrower(self):
        # 8 terminals at radius 24 stand 18.85 mm apart, so that a tip of 18 and a terminal of 5 leave 3.2 mm to the
        # neighbour at the ends of 6 to 46, and 0.7 mm to the own terminal: 4.6 times, not 5.
        found = rotor_phasing(8, 6, 46, 24, 18, 5, 0.7)
        assert found.kind is PhasingKind.RANGE_TOO_WIDE
        assert found.highest.overlap_mm == pytest.approx(11.5 - 4.18879, abs=1e-5), (
            "by hand: the tip is on its terminal"
        )
        narrowest, widest = found.tip_widths_mm
        # 18.8496 - 4.1888 - 0.7 * sqrt(24) = 11.2315 mm is the most half widths of tip and terminal may take.
        assert widest == pytest.approx(2 * 11.2315 - 5, abs=1e-4), "by hand"
        assert narrowest == pytest.approx(2 * (1 + 4.18879) - 5, abs=1e-5), "by hand"
        assert widest < 18

    def test_a_tip_too_short_for_the_range_must_be_wider(self):
        found = rotor_phasing(**CAP, lowest_deg=0, highest_deg=60)
        narrowest, _ = found.tip_widths_mm
        # 15 distributor degrees at 20 mm are 5.236 mm; with 1 mm of overlap 6.236 is half of tip and terminal.
        assert narrowest == pytest.approx(2 * 6.23599 - 4, abs=1e-5), "by hand"
        assert narrowest > 7

    def test_where_no_tip_serves_none_is_named(self):
        assert rotor_phasing(12, 6, 46, 20, 5, 4, 0.7).tip_widths_mm is None

    @given(st.integers(2, 12), st.floats(0, 80), st.floats(12, 40), st.floats(0.1, 0.9), st.floats(0.2, 2))
    def test_the_widths_named_just_hold(self, terminals, width, radius, post, gap):
        pitch = 2 * math.pi * radius / terminals

        def kind(tip):
            return rotor_phasing(terminals, 0, width, radius, tip, post * pitch, gap).kind

        widths = rotor_phasing(terminals, 0, width, radius, pitch / 2, post * pitch, gap).tip_widths_mm
        if widths is None:
            tried = [kind(pitch * share / 40) for share in range(1, 40)]
            assert PhasingKind.HOLDS not in tried, "tried one width after the other"
            return
        narrowest, widest = widths
        middle = (narrowest + widest) / 2
        assert kind(middle) is PhasingKind.HOLDS, "tried"
        if narrowest > 0.002:
            assert kind(narrowest - 0.001) is not PhasingKind.HOLDS, "tried"
        if widest + 0.001 < pitch:
            assert kind(widest + 0.001) is not PhasingKind.HOLDS, "tried"


class TestBadInput:
    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"terminals": 0}, "the number of cap terminals must be 2 or more, not 0"),
            ({"terminals": 1}, "the number of cap terminals must be 2 or more, not 1"),
            ({"terminals": 25}, "the number of cap terminals must be 24 or less, not 25"),
            ({"terminals": 4.5}, "the number of cap terminals must be a whole number, not 4.5"),
            ({"lowest_deg": 41}, "the lowest advance, 41°, is above the highest, 40°"),
            ({"lowest_deg": math.nan}, "the lowest advance must be a finite number"),
            ({"lowest_deg": -61}, "the lowest advance must be -60 degrees or more, not -61"),
            ({"highest_deg": 91}, "the highest advance must be 90 degrees or less, not 91"),
            ({"tip_radius_mm": 0}, "the radius of the rotor tip must be above 0 mm, not 0"),
            ({"tip_width_mm": -7}, "the width of the rotor tip must be above 0 mm, not -7"),
            ({"post_width_mm": 0}, "the width of a cap terminal must be above 0 mm, not 0"),
            ({"radial_gap_mm": 0}, "the gap between rotor tip and terminal must be above 0 mm, not 0"),
            ({"post_width_mm": 32}, "terminals 32 mm wide would reach from terminal to terminal.*stand 31.4 mm apart"),
            ({"tip_width_mm": 32}, "a rotor tip 32 mm wide would reach from terminal to terminal"),
            (
                {"aligned_at_deg": 400},
                "the advance at which rotor and terminal are in line must be 360 degrees or less, not 400",
            ),
            ({"least_overlap_mm": -1}, "the least overlap must be 0 mm or more"),
            ({"least_ratio": 0}, "the least ratio of gaps must be above 0"),
            ({"strokes": 3}, "an engine has two strokes or four, not 3"),
        ],
    )
    def test_what_makes_no_cap_is_refused(self, changes, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            rotor_phasing(**{**CAP, "lowest_deg": 8, "highest_deg": 40, **changes})

    def test_a_spark_beyond_any_timing_is_refused(self):
        with pytest.raises(TimingError, match=r"^the spark must be 90 degrees or less, not 120"):
            rotor_phasing(**CAP, lowest_deg=8, highest_deg=40).at(120)

    def test_a_range_upside_down_is_a_refusal_of_this_room(self):
        with pytest.raises(DistributorError):
            rotor_phasing(**CAP, lowest_deg=40, highest_deg=8)
