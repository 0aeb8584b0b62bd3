"""Findings about the advance: how much, how fast, and at idle; just beyond each limit and not on it."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.review.reviewed import COIL, ENGINE, UNIT, changed, curve, engine, findings
from timing.curve import AdvanceCurve
from timing.review import COMMON_PRACTICE, ReviewLimits, review
from timing.vacuum import VacuumRamp, VacuumTable


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
        assert "total advance is 48° at 5000 rpm; the usual limit is 38°. Take out 10°" in finding.sentence
        assert finding.rpm == pytest.approx((4000.0, 5800.0)), "1000 + 30/40 * 4000, by hand"
        assert finding.vacuum == (0.0, 5.0)
        assert finding.source == COMMON_PRACTICE

    @pytest.mark.parametrize(("limit", "found"), [(32.0, False), (31.0, True)])
    def test_an_engine_with_a_limit_of_its_own_is_held_to_that(self, limit, found):
        # 8 + 23.73 at the rev limit, by hand
        found_ = findings(engine=engine(full_load_limit_deg=limit))
        assert ("full-load-advance" in found_) is found
        if found:
            assert "this engine's limit is 31°" in found_["full-load-advance"].sentence

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
            assert (
                "37.7° at 5800 rpm and 45 kPa of vacuum; this engine's limit is 37°. Take out 0.7°" in finding.sentence
            )
            assert finding.vacuum[1] == 45.0

    @pytest.mark.parametrize(("added", "found"), [(23.0, False), (23.5, True)])
    def test_more_than_55_degrees_anywhere_stops(self, added, found):
        # handbook 4: total anywhere above 55 deg; 8 + 24 at the last node + what vacuum adds
        map_ = changed(vacuum=VacuumRamp(15, 45, added, 1200), rev_limit_rpm=6000)
        found_ = findings(map_)
        assert ("total-advance" in found_) is found
        if found:
            assert found_["total-advance"].kind == "stop"
            assert "55.5° at 6000 rpm and 45 kPa of vacuum" in found_["total-advance"].sentence

    def test_nothing_above_the_rev_limit_counts(self):
        map_ = curve([500, 1000, 5000, 7000], [0, 0, 24, 60])
        assert "total-advance" not in findings(dataclasses.replace(map_, rev_limit_rpm=5000, vacuum=None))
        assert "total-advance" in findings(dataclasses.replace(map_, rev_limit_rpm=7000, vacuum=None))
        assert "total-advance" in findings(dataclasses.replace(map_, rev_limit_rpm=None, vacuum=None))

    def test_advance_under_boost_is_said_as_boost(self):
        table = VacuumTable([1000, 5000], [-40, 0], [[60, 60], [0, 0]])
        finding = findings(changed(vacuum=table))["total-advance"]
        assert "and 40 kPa of boost" in finding.sentence
        assert finding.vacuum[0] == -40.0

    @given(
        st.lists(st.floats(0, 50), min_size=4, max_size=4),
        st.floats(10, 50),
        st.floats(0, 30),
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
        total = np.asarray(map_.total(rpm, vacuum))
        found_ = findings(map_, limits=ReviewLimits(anywhere_deg=limit))
        beyond = total > limit + 1e-6
        if beyond.any():
            low, high = found_["total-advance"].rpm
            assert low <= rpm[beyond].min() + 1e-6
            assert high >= rpm[beyond].max() - 1e-6
            for end in (low, high):
                there = np.asarray(map_.total([[end - 1e-6], [end], [end + 1e-6]], vacuum[:, :1].T))
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
            assert "Below 500 rpm" in finding.sentence
            assert "total advance is 12.5°. Keep it to 12° or less" in finding.sentence

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
            assert "rises by 25.2° per 1000 rpm from 1000 to 2000 rpm; more than 25° is unusual" in finding.sentence

    def test_steep_stretches_beside_each_other_are_one_finding_and_apart_are_two(self):
        map_ = curve([500, 1000, 1100, 1200, 3000, 3100, 6000], [0, 0, 3, 8, 8, 12, 12])
        steep = [found for found in review(map_, ENGINE, UNIT, COIL, altitude_m=300) if found.code == "steep-slope"]
        assert [found.rpm for found in steep] == [(1000.0, 1200.0), (3000.0, 3100.0)]
        assert "by 50° per 1000 rpm" in steep[0].sentence, "5 degrees in 100 rpm, the steeper of the two"

    def test_a_steep_last_stretch_is_found(self):
        assert findings(curve([500, 1000, 5700, 5800], [0, 0, 10, 15]))["steep-slope"].rpm == (5700.0, 5800.0)

    def test_a_dip_is_a_caution_with_both_ends(self):
        finding = findings(curve([500, 1000, 2500, 3500, 4000, 6000], [0, 0, 18, 17, 16, 22]))["dip"]
        assert (finding.kind, finding.rpm) == ("caution", (2500.0, 4000.0))
        assert "falls from 18° to 16° from 2500 to 4000 rpm" in finding.sentence

    @pytest.mark.parametrize(("top", "code"), [(900, "falls-through-idle"), (901, "dip")])
    def test_a_fall_through_idle_may_be_meant(self, top, code):
        # common practice, no source: more advance below idle holds it up; the idle's band ends at 900 rpm
        found_ = findings(curve([500, top, 1500, 6000], [4, 2, 6, 24]), engine(idle_rpm=800))
        assert code in found_
        assert len({"dip", "falls-through-idle"} & set(found_)) == 1
        if code == "falls-through-idle":
            assert found_[code].kind == "note"
            assert found_[code].rpm == (500.0, 900.0)
            assert "falls from 4° to 2° from 500 to 900 rpm" in found_[code].sentence

    def test_a_level_curve_is_no_dip(self):
        assert "dip" not in findings(curve([500, 1000, 3000, 4000, 6000], [0, 0, 18, 18, 20]))

    @pytest.mark.parametrize(("at_1500", "found"), [(10.0, True), (9.9, False)])
    def test_a_curve_that_does_not_rise_above_1500_rpm_is_a_caution(self, at_1500, found):
        # handbook 4, common practice
        found_ = findings(curve([500, 1000, 1500, 6000], [0, 0, at_1500, 10]))
        assert ("curve-stops-rising" in found_) is found
        if found:
            assert found_["curve-stops-rising"].kind == "caution"
            assert (
                "does not rise above 1500 rpm: it adds 10° there and never more"
                in found_["curve-stops-rising"].sentence
            )
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
            assert "rises by 1.2° from 700 to 900 rpm, across the idle at 800 rpm" in finding.sentence

    def test_a_curve_that_falls_across_idle_does_not_hunt(self):
        assert "idle-hunting" not in findings(curve([500, 700, 900, 6000], [3, 3, 0, 24]))

    @pytest.mark.parametrize(("ron", "found"), [(95, False), (94, True)])
    def test_fuel_of_low_octane_is_a_caution(self, ron, found):
        # common practice, no source
        found_ = findings(engine=engine(fuel_ron=ron))
        assert ("low-octane" in found_) is found
        if found:
            assert found_["low-octane"].kind == "caution"
            assert "94 RON, less than 95" in found_["low-octane"].sentence


class TestSteps:
    @pytest.mark.parametrize(("step", "found"), [(6, False), (7, True)])
    @pytest.mark.parametrize("along", ["vacuum", "speed"])
    def test_a_step_above_6_degrees_between_cells_is_a_caution(self, step, found, along):
        # handbook 4, common practice
        cells = [[0, 0], [step, step]] if along == "vacuum" else [[0, step], [0, step]]
        found_ = findings(changed(vacuum=VacuumTable([1000, 2000], [20, 40], cells)), unit=None)
        assert ("step-between-cells" in found_) is found
        if found:
            assert found_["step-between-cells"].kind == "caution"
            sentence = found_["step-between-cells"].sentence
            assert sentence.startswith("2 steps between neighbouring cells of the vacuum part are larger than 6°;")
            assert "the largest is 7°" in found_["step-between-cells"].sentence

    def test_a_single_step_says_from_which_cell_to_which(self):
        table = VacuumTable([1000, 2000, 3000], [20, 40], [[0, 0, 0], [0, 0, 8]])
        one = VacuumTable([1000, 2000], [20, 40, 60], [[0, 0], [2, 2], [4, 12]])
        finding = findings(changed(vacuum=table), unit=None)["step-between-cells"]
        assert finding.rpm == (2000.0, 3000.0)
        assert finding.vacuum == (20.0, 40.0)
        finding = findings(changed(vacuum=one), unit=None)["step-between-cells"]
        assert "the largest is 10°, from 2000 rpm and 40 kPa to 2000 rpm and 60 kPa" in finding.sentence

    def test_one_step_is_one_step(self):
        table = VacuumTable([1000], [20, 40], [[0], [8]])
        sentence = findings(changed(vacuum=table), unit=None)["step-between-cells"].sentence
        assert sentence.startswith("One step between neighbouring cells of the vacuum part is larger than 6°;")

    def test_a_fall_is_a_step_as_well(self):
        assert "step-between-cells" in findings(changed(vacuum=VacuumTable([1000], [20, 40], [[8], [0]])), unit=None)

    @pytest.mark.parametrize(("added", "from_rpm", "found"), [(6, 1200, False), (7, 1200, True), (7, 0, False)])
    def test_a_ramp_that_a_speed_switches_on_is_noted(self, added, from_rpm, found):
        found_ = findings(changed(vacuum=VacuumRamp(15, 45, added, from_rpm)))
        assert ("vacuum-comes-at-once" in found_) is found
        if found:
            assert found_["vacuum-comes-at-once"].kind == "note"
            assert found_["vacuum-comes-at-once"].rpm == (1200.0, 1200.0)
            assert "At 1200 rpm up to 7° of vacuum advance" in found_["vacuum-comes-at-once"].sentence
