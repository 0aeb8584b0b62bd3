"""Findings about the advance: how much, how fast, and at idle; just beyond each limit and not on it."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.review.reviewed import COIL, ENGINE, changed, curve, engine, says
from tests.timing.review.reviewed import as_set as findings
from timing.curve import AdvanceCurve
from timing.review import COMMON_PRACTICE, ReviewLimits, review
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable


class TestTotal:
    @pytest.mark.parametrize(("top", "found"), [(30.0, False), (30.1, True)])
    def test_more_than_38_degrees_at_full_load_stops(self, top, found):
        # handbook 4: total at full load above 38 deg, common practice; base 8 and the curve's 30
        found_ = findings(dataclasses.replace(curve([500, 1000, 4000, 6000], [0, 0, 26, top]), rev_limit_rpm=6000))
        assert ("full-load-advance" in found_) is found

    def test_the_full_load_finding_says_how_much_and_where(self):
        # 8 + 40 at 5000 rpm and held: above 38 from 3875 rpm on, by hand
        finding = findings(curve([500, 1000, 5000], [0, 0, 40]))["full-load-advance"]
        assert finding.kind == "stop"
        assert says(finding, "48°", "5000 rpm", "38°", "10°")
        assert finding.rpm == pytest.approx((4000.0, 5800.0)), "1000 + 30/40 * 4000, by hand"
        assert finding.vacuum == (0.0, 5.0)
        assert finding.source == COMMON_PRACTICE

    @pytest.mark.parametrize(("limit", "found"), [(32.0, False), (31.0, True)])
    def test_an_engine_with_a_limit_of_its_own_is_held_to_that(self, limit, found):
        # 8 + 23.73 at the rev limit, by hand
        found_ = findings(engine=engine(full_load_limit_deg=limit))
        assert ("full-load-advance" in found_) is found
        if found:
            assert says(found_["full-load-advance"], "31°")

    def test_vacuum_does_not_count_at_full_load(self):
        early = changed(vacuum=VacuumRamp(15, 45, 20, 1200))
        assert "full-load-advance" not in findings(early)
        assert "full-load-advance" in findings(changed(vacuum=VacuumRamp(1, 4, 20, 1200)))
        # 20 degrees at 21 kPa: 5 kPa of a throttle all but open adds 5, which with 31.7 is still below 38
        assert "full-load-advance" not in findings(changed(vacuum=VacuumRamp(0, 21, 20, 1200)))

    @pytest.mark.parametrize(("limit", "found"), [(38.0, False), (37.0, True)])
    def test_an_engine_with_a_limit_at_light_load_is_held_to_that(self, limit, found):
        # 8 + 23.73 + 6 = 37.73 at the rev limit, by hand
        found_ = findings(engine=engine(light_load_limit_deg=limit))
        assert ("light-load-advance" in found_) is found
        if found:
            finding = found_["light-load-advance"]
            assert finding.kind == "stop"
            assert says(finding, "37.7°", "5800 rpm", "45 kPa", "37°", "0.7°")
            # 22 degrees at 4500 rpm and 24 at 6000: 23 at 5250, by hand
            assert finding.rpm == pytest.approx((5250.0, 5800.0))
            assert finding.vacuum[1] == 45.0

    @pytest.mark.parametrize(("added", "found"), [(23.0, False), (23.5, True)])
    def test_more_than_55_degrees_anywhere_stops(self, added, found):
        # handbook 4: total anywhere above 55 deg; 8 + 24 at the last node + what vacuum adds
        map_ = changed(vacuum=VacuumRamp(15, 45, added, 1200), rev_limit_rpm=6000)
        found_ = findings(map_)
        assert ("total-advance" in found_) is found
        if found:
            assert found_["total-advance"].kind == "stop"
            assert says(found_["total-advance"], "55.5°", "6000 rpm", "45 kPa")

    def test_nothing_above_the_rev_limit_counts(self):
        map_ = curve([500, 1000, 5000, 7000], [0, 0, 24, 60])
        assert "total-advance" not in findings(dataclasses.replace(map_, rev_limit_rpm=5000, vacuum=None))
        assert "total-advance" in findings(dataclasses.replace(map_, rev_limit_rpm=7000, vacuum=None))
        assert "total-advance" in findings(dataclasses.replace(map_, rev_limit_rpm=None, vacuum=None))

    def test_advance_under_boost_is_said_as_boost(self):
        table = VacuumTable(rpm=[1000, 5000], vacuum=[-40, 0], degrees=[[60, 60], [0, 0]])
        finding = findings(changed(vacuum=table))["total-advance"]
        assert says(finding, "40 kPa of boost")
        assert finding.vacuum[0] == -40.0

    @given(
        st.lists(st.floats(0, 50), min_size=4, max_size=4),
        st.floats(10, 50),
        st.floats(0.001, 30),
        st.sampled_from([0.0, 1300.0]),
    )
    def test_the_place_of_a_finding_holds_every_sample_beyond_the_limit(self, degrees, limit, added, from_rpm):
        # a dense sampling of the surface, which the exact answer must contain and reach
        map_ = changed(
            curve=AdvanceCurve([500, 1500, 3000, 6000], degrees),
            vacuum=VacuumRamp(10, 40, added, from_rpm),
            rev_limit_rpm=None,
        )
        rpm, vacuum = np.meshgrid(np.linspace(500, 6000, 221), np.linspace(0, 60, 121))
        total = np.asarray(map_.total(rpm=rpm, vacuum=vacuum))
        found_ = findings(map_, limits=ReviewLimits(anywhere_deg=limit))
        beyond = total > limit + 1e-6
        if beyond.any():
            low, high = found_["total-advance"].rpm
            assert low <= rpm[beyond].min() + 1e-6
            assert high >= rpm[beyond].max() - 1e-6
            for end in (low, high):
                there = np.asarray(map_.total(rpm=[[end - 1e-6], [end], [end + 1e-6]], vacuum=vacuum[:, :1].T))
                assert there.max() >= limit - 1e-6, "the range ends on the limit, not beyond it"
            least, most = found_["total-advance"].vacuum
            assert least <= vacuum[beyond].min() + 1e-6
            assert most >= min(vacuum[beyond].max(), 40.0) - 1e-6
        elif total.max() < limit - 1e-6:
            assert "total-advance" not in found_


class TestCurve:
    @pytest.mark.parametrize(("base", "found"), [(12, False), (12.5, True)])
    def test_more_than_12_degrees_at_cranking_is_a_caution(self, base, found):
        # handbook 4: below 500 rpm, common practice
        found_ = findings(changed(base_deg=base))
        assert ("cranking-advance" in found_) is found
        if found:
            finding = found_["cranking-advance"]
            assert (finding.kind, finding.rpm) == ("caution", (0.0, 500.0))
            assert says(finding, "500 rpm", "12.5°", "12°")

    def test_cranking_advance_is_looked_at_up_to_500_rpm(self):
        assert "cranking-advance" in findings(curve([300, 500, 1000, 6000], [0, 5, 5, 20]))
        assert "cranking-advance" in findings(curve([300, 400, 500, 1000, 6000], [0, 5, 0, 0, 20]))
        assert "cranking-advance" not in findings(curve([300, 500, 600, 6000], [0, 4, 8, 20]))

    @pytest.mark.parametrize(("rise", "found"), [(25.0, False), (25.2, True)])
    def test_a_slope_above_25_degrees_per_1000_rpm_is_a_caution(self, rise, found):
        # handbook 4, common practice
        found_ = findings(curve([500, 1000, 2000, 6000], [0, 0, rise, 29]))
        assert ("steep-slope" in found_) is found
        if found:
            finding = found_["steep-slope"]
            assert (finding.kind, finding.rpm) == ("caution", (1000.0, 2000.0))
            assert says(finding, "25.2°", "1000", "2000 rpm", "25°")

    def test_a_steep_stretch_that_begins_at_the_rev_limit_is_never_driven(self):
        assert "steep-slope" not in findings(curve([500, 1000, 5800, 6000], [0, 0, 24, 40])), "the limit is 5800"

    def test_steep_stretches_beside_each_other_are_one_finding_and_apart_are_two(self):
        map_ = curve([500, 1000, 1100, 1200, 3000, 3100, 6000], [0, 0, 3, 8, 8, 12, 12])
        steep = [found for found in review(map_, ENGINE, None, COIL, altitude_m=300) if found.code == "steep-slope"]
        assert [found.rpm for found in steep] == [(1000.0, 1200.0), (3000.0, 3100.0)]
        assert says(steep[0], "50°"), "5 degrees in 100 rpm, the steeper of the two"

    def test_a_steep_last_stretch_is_found(self):
        assert findings(curve([500, 1000, 5700, 5800], [0, 0, 10, 15]))["steep-slope"].rpm == (5700.0, 5800.0)

    def test_a_dip_is_a_caution_with_both_ends(self):
        finding = findings(curve([500, 1000, 2500, 3500, 4000, 6000], [0, 0, 18, 17, 16, 22]))["dip"]
        assert (finding.kind, finding.rpm) == ("caution", (2500.0, 4000.0))
        assert says(finding, "18°", "16°", "2500", "4000 rpm")

    @pytest.mark.parametrize(("top", "code"), [(900, "falls-through-idle"), (901, "dip")])
    def test_a_fall_through_idle_may_be_meant(self, top, code):
        # common practice, no source: more advance below idle holds it up; the idle's band ends at 900 rpm
        found_ = findings(curve([500, top, 1500, 6000], [4, 2, 6, 24]), engine(idle_rpm=800))
        assert code in found_
        assert len({"dip", "falls-through-idle"} & set(found_)) == 1
        if code == "falls-through-idle":
            assert found_[code].kind == "note"
            assert found_[code].rpm == (500.0, 900.0)
            assert says(found_[code], "4°", "2°", "500", "900 rpm")

    def test_a_level_curve_is_no_dip(self):
        assert "dip" not in findings(curve([500, 1000, 3000, 4000, 6000], [0, 0, 18, 18, 20]))

    @pytest.mark.parametrize(("at_1500", "found"), [(10.0, True), (9.9, False)])
    def test_a_curve_that_does_not_rise_above_1500_rpm_is_a_caution(self, at_1500, found):
        # handbook 4, common practice
        found_ = findings(curve([500, 1000, 1500, 6000], [0, 0, at_1500, 10]))
        assert ("curve-stops-rising" in found_) is found
        if found:
            assert found_["curve-stops-rising"].kind == "caution"
            assert says(found_["curve-stops-rising"], "1500 rpm", "10°")
            assert found_["curve-stops-rising"].rpm == (1500.0, 5800.0)

    def test_a_curve_of_one_node_does_not_rise(self):
        assert "curve-stops-rising" in findings(curve([1000], [5]))
        assert "curve-stops-rising" in findings(dataclasses.replace(curve([1000], [5]), rev_limit_rpm=None))

    def test_an_engine_limited_below_1500_rpm_need_not_rise_above_it(self):
        assert "curve-stops-rising" not in findings(dataclasses.replace(curve([1000], [5]), rev_limit_rpm=1500))

    @pytest.mark.parametrize(("rise", "found"), [(1.0, False), (1.2, True)])
    def test_a_curve_that_rises_across_idle_hunts(self, rise, found):
        # common practice, no source: from 700 to 900 rpm round an idle of 800
        found_ = findings(curve([500, 700, 900, 6000], [0, 0, rise, 24]))
        assert ("idle-hunting" in found_) is found
        if found:
            finding = found_["idle-hunting"]
            assert (finding.kind, finding.rpm) == ("caution", (700.0, 900.0))
            assert says(finding, "1.2°", "700", "900 rpm", "800 rpm")

    def test_a_curve_that_falls_across_idle_does_not_hunt(self):
        assert "idle-hunting" not in findings(curve([500, 700, 900, 6000], [3, 3, 0, 24]))

    @pytest.mark.parametrize(("ron", "found"), [(95, False), (94, True)])
    def test_fuel_of_low_octane_is_a_caution(self, ron, found):
        # common practice, no source
        found_ = findings(engine=engine(fuel_ron=ron))
        assert ("low-octane" in found_) is found
        if found:
            assert found_["low-octane"].kind == "caution"
            assert says(found_["low-octane"], "94 RON", "95")


class TestSteps:
    @pytest.mark.parametrize(("step", "found"), [(6, False), (7, True)])
    @pytest.mark.parametrize("along", ["vacuum", "speed"])
    def test_a_step_above_6_degrees_between_cells_is_a_caution(self, step, found, along):
        # handbook 4, common practice
        cells = [[0, 0], [step, step]] if along == "vacuum" else [[0, step], [0, step]]
        found_ = findings(changed(vacuum=VacuumTable(rpm=[1000, 2000], vacuum=[20, 40], degrees=cells)))
        assert ("step-between-cells" in found_) is found
        if found:
            assert found_["step-between-cells"].kind == "caution"
            assert says(found_["step-between-cells"], "2 steps", "6°", "7°")

    def test_a_single_step_says_from_which_cell_to_which(self):
        table = VacuumTable(rpm=[1000, 2000, 3000], vacuum=[20, 40], degrees=[[0, 0, 0], [0, 0, 8]])
        one = VacuumTable(rpm=[1000, 2000], vacuum=[20, 40, 60], degrees=[[0, 0], [2, 2], [4, 12]])
        finding = findings(changed(vacuum=table))["step-between-cells"]
        assert finding.rpm == (2000.0, 3000.0)
        assert finding.vacuum == (20.0, 40.0)
        finding = findings(changed(vacuum=one))["step-between-cells"]
        assert says(finding, "10°", "2000 rpm and 40 kPa", "2000 rpm and 60 kPa")

    def test_a_step_along_the_speeds_says_from_which_speed_to_which(self):
        table = VacuumTable(rpm=[1000, 2000, 3000], vacuum=[20, 40], degrees=[[0, 8, 8], [0, 6, 8]])
        finding = findings(changed(vacuum=table))["step-between-cells"]
        assert says(finding, "One step", "8°", "1000 rpm and 20 kPa", "2000 rpm and 20 kPa")
        assert (finding.rpm, finding.vacuum) == ((1000.0, 2000.0), (20.0, 20.0))

    def test_one_step_is_one_step(self):
        table = VacuumTable(rpm=[1000], vacuum=[20, 40], degrees=[[0], [8]])
        assert findings(changed(vacuum=table))["step-between-cells"].sentence.startswith("One step ")

    def test_a_fall_is_a_step_as_well(self):
        assert "step-between-cells" in findings(
            changed(vacuum=VacuumTable(rpm=[1000], vacuum=[20, 40], degrees=[[8], [0]]))
        )

    @pytest.mark.parametrize(("added", "from_rpm", "found"), [(6, 1200, False), (7, 1200, True), (7, 0, False)])
    def test_a_ramp_that_a_speed_switches_on_is_noted(self, added, from_rpm, found):
        found_ = findings(changed(vacuum=VacuumRamp(15, 45, added, from_rpm)))
        assert ("vacuum-comes-at-once" in found_) is found
        if found:
            assert found_["vacuum-comes-at-once"].kind == "note"
            assert found_["vacuum-comes-at-once"].rpm == (1200.0, 1200.0)
            assert says(found_["vacuum-comes-at-once"], "1200 rpm", "7°")

    def test_steps_above_the_rev_limit_are_never_driven(self):
        table = VacuumTable(rpm=[3000, 6000, 7000], vacuum=[20, 40], degrees=[[0, 0, 0], [0, 0, 9]])
        map_ = changed(vacuum=table)
        assert "step-between-cells" not in findings(map_)
        assert "step-between-cells" in findings(dataclasses.replace(map_, rev_limit_rpm=6001))


class TestTooLittle:
    """Issue 9.9: a late spark heats valves and manifold; the least advance is common practice, no source."""

    @pytest.mark.parametrize("degrees", [12.0, 14.9])
    def test_too_little_advance_everywhere_is_a_caution(self, degrees):
        finding = findings(changed(base_deg=degrees, curve=AdvanceCurve([1000], [0]), vacuum=None))[
            "too-little-advance"
        ]
        assert (finding.kind, finding.rpm) == ("caution", (2500.0, 5800.0))
        assert says(finding, f"{degrees:g}°", "15°")

    @pytest.mark.parametrize("base", [0.0, 0.5])
    def test_a_spark_at_dead_centre_or_just_before_is_a_caution(self, base):
        finding = findings(changed(base_deg=base, curve=AdvanceCurve([1000], [0]), vacuum=None))["too-little-advance"]
        assert finding.kind == "caution"
        assert says(finding, f"{base:g}°")

    @pytest.mark.parametrize(("base", "said"), [(-5, "5°"), (-0.1, "0.1°")])
    def test_a_spark_after_dead_centre_everywhere_stops(self, base, said):
        finding = findings(changed(base_deg=base, curve=AdvanceCurve([1000], [0]), vacuum=None))["too-little-advance"]
        assert finding.kind == "stop"
        assert says(finding, said, "2500 rpm")

    def test_a_curve_that_falls_away_at_the_top_is_found_there(self):
        # 8 + 22 at 4000 falls to 8 + 2 at 6000: below 15 from 5500 rpm on, by hand
        finding = findings(curve([500, 1500, 4000, 6000], [0, 8, 22, 2]))["too-little-advance"]
        assert finding.rpm == pytest.approx((5500.0, 5800.0))

    def test_fifteen_degrees_are_enough_and_slow_engines_may_have_less(self):
        assert "too-little-advance" not in findings(curve([500, 1500, 2500, 6000], [0, 2, 7, 20]))
        assert "too-little-advance" in findings(curve([500, 1500, 2500, 6000], [0, 2, 6.9, 20]))

    def test_an_engine_limited_below_that_speed_is_looked_at_at_its_limit(self):
        slow = dataclasses.replace(curve([500, 1500], [0, 2]), rev_limit_rpm=1800)
        assert findings(slow)["too-little-advance"].rpm == (1800.0, 1800.0)

    def test_retard_under_boost_is_not_too_little(self):
        assert "too-little-advance" not in findings(changed(boost=BoostRetard([0, 100], [0, 12])), engine(boosted=True))


class TestFalseAlarms:
    """Issue 9.9: what the review must not say."""

    def test_a_two_stroke_may_run_on_the_same_timing_at_all_speeds(self):
        constant = changed(base_deg=22, curve=AdvanceCurve([1000], [0]), vacuum=None)
        assert "curve-stops-rising" in findings(constant)
        two = findings(constant, engine(cylinders=2, strokes=2, rotor=None, has_distributor=False))
        assert not {"curve-stops-rising", "too-little-advance"} & set(two)

    def test_slopes_and_dips_above_the_rev_limit_are_never_driven(self):
        steep = curve([500, 1000, 5000, 6000, 6100], [0, 0, 24, 24, 40])
        falling = curve([500, 1000, 5000, 6000, 7000], [0, 0, 24, 25, 10])
        assert "steep-slope" not in findings(steep)
        assert "dip" not in findings(falling)
        assert findings(dataclasses.replace(steep, rev_limit_rpm=6050))["steep-slope"].rpm == (6000.0, 6050.0)
        assert "dip" in findings(dataclasses.replace(falling, rev_limit_rpm=None))

    def test_an_engine_s_light_load_limit_holds_without_a_vacuum_part_too(self):
        found_ = findings(changed(vacuum=None), engine(light_load_limit_deg=30))
        assert found_["light-load-advance"].kind == "stop"
        assert says(found_["light-load-advance"], "31.7°", "5800 rpm", "30°")
        assert "light-load-advance" not in findings(changed(vacuum=None), engine(light_load_limit_deg=32))
        assert "light-load-advance" in findings(
            changed(boost=BoostRetard([0, 50], [0, 5]), vacuum=None), engine(light_load_limit_deg=30)
        )

    @pytest.mark.parametrize("sum_of", [(0.1, 0.2), (0.7, 0.1)])
    def test_the_last_bit_of_a_sum_decides_nothing(self, sum_of):
        # 0.1 + 0.2 and 0.7 + 0.1 are not 0.3 and 0.8 in floating point; a limit is within itself
        limit = round(sum(sum_of), 3)
        map_ = changed(base_deg=sum_of[0], curve=AdvanceCurve([3000], [sum_of[1]]), vacuum=None)
        facts = engine(full_load_limit_deg=limit, light_load_limit_deg=limit, trigger_deg=limit)
        limits = ReviewLimits(anywhere_deg=limit, cranking_deg=limit, least_deg=limit)
        codes = set(findings(map_, facts, limits=limits))
        assert not codes & {
            "full-load-advance",
            "light-load-advance",
            "total-advance",
            "cranking-advance",
            "beyond-trigger",
            "too-little-advance",
        }
