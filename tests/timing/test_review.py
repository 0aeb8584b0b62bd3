"""The review: every finding appears just beyond its limit and not on it, with its figures, its reason and its place."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timing.coil import Primary
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.review import (
    COMMON_PRACTICE,
    CoilFacts,
    EngineFacts,
    Finding,
    Kind,
    ReviewError,
    ReviewLimits,
    RotorFacts,
    review,
)
from timing.review.finding import in_order
from timing.unit import FixedNodes, RampEntries, Steps, UnitType, fit_map
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# The handbook's coil A, and its cap for four cylinders.
COIL = CoilFacts(Primary(3.0, 8.0, 13.8, wiring_ohm=0.2, switch_drop_v=1.0), cranking_v=10.0, heat_limit_w=60.0)
ROTOR = RotorFacts(tip_radius_mm=20, tip_width_mm=8, post_width_mm=4, radial_gap_mm=0.7, aligned_at_deg=27)
ENGINE = EngineFacts(
    cylinders=4,
    idle_rpm=800,
    red_line_rpm=6000,
    idle_vacuum_kpa=60,
    fuel_ron=97,
    boosted=False,
    tachometer="coil voltage",
    trigger_deg=60,
    rotor=ROTOR,
)
UNIT = UnitType(
    nodes=FixedNodes([500, 1000, 1500, 2500, 3500, 4500, 6000]),
    degree=Steps(0, 60, 1),
    base=Steps(0, 30, 1),
    vacuum=RampEntries("kPa", Steps(0, 80, 1), Steps(1, 90, 1), Steps(0, 30, 1), Steps(0, 3000, 100)),
    dwell_ms=Steps(1, 6, 0.1),
    rev_limit_rpm=Steps(3000, 8000, 100),
    rev_limit_manners=("soft",),
    repeated_sparks=True,
)
MAP = IgnitionMap(
    base_deg=8,
    curve=AdvanceCurve([500, 1000, 1500, 2500, 3500, 4500, 6000], [0, 0, 6, 16, 20, 22, 24]),
    vacuum=VacuumRamp(15, 45, 6, 1200),
    dwell_ms=3.5,
    rev_limit_rpm=5800,
    rev_limit_manner="soft",
)


def changed(**figures):
    return dataclasses.replace(MAP, **figures)


def curve(rpm, degrees):
    return changed(curve=AdvanceCurve(rpm, degrees))


def findings(map_=MAP, engine=ENGINE, unit=UNIT, coil=COIL, altitude_m=300, **more):
    return {found.code: found for found in review(map_, engine, unit, coil, altitude_m=altitude_m, **more)}


def engine(**figures):
    return dataclasses.replace(ENGINE, **figures)


def coil(**figures):
    return dataclasses.replace(COIL, **figures)


def test_a_sound_map_in_a_well_known_car_has_nothing_found():
    assert review(MAP, ENGINE, UNIT, COIL, altitude_m=300) == []


def test_what_is_asked_for_may_be_named():
    assert review(map=MAP, engine=ENGINE, unit_type=UNIT, coil=COIL, altitude_m=300) == []


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
            assert high - rpm[beyond].max() <= 25.0 + 1e-6 or high == pytest.approx(1300.0)
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


class TestPressure:
    @pytest.mark.parametrize(
        ("vacuum_at_idle", "found"), [(9, False), (12, False), (13, True), (30, True), (47, True), (48, False)]
    )
    def test_a_vacuum_part_half_way_on_at_idle_is_a_caution(self, vacuum_at_idle, found):
        # 12 degrees from 15 to 45 kPa are 0.4 a kPa: within 5 kPa of 13 it swings from 0 to 1.2 degrees, by hand
        map_ = changed(vacuum=VacuumRamp(15, 45, 12))
        assert ("vacuum-half-on-at-idle" in findings(map_, engine(idle_vacuum_kpa=vacuum_at_idle))) is found

    def test_the_finding_at_idle_says_how_much_it_swings(self):
        # half-way: 6 of 12 degrees, and 4 either way within 5 kPa: by hand
        finding = findings(changed(vacuum=VacuumRamp(15, 45, 12)), engine(idle_vacuum_kpa=30))["vacuum-half-on-at-idle"]
        assert finding.kind == "caution"
        assert "At idle, 800 rpm and 30 kPa, the vacuum part adds 6° and swings by 4°" in finding.sentence
        assert finding.rpm == (700.0, 900.0)
        assert finding.vacuum == (25.0, 35.0)

    @pytest.mark.parametrize(("from_rpm", "found"), [(901, False), (900, True), (600, True)])
    def test_a_vacuum_part_that_acts_only_above_idle_is_no_matter(self, from_rpm, found):
        map_ = changed(vacuum=VacuumRamp(15, 45, 12, from_rpm))
        assert ("vacuum-half-on-at-idle" in findings(map_, engine(idle_vacuum_kpa=30))) is found

    def test_a_vacuum_part_fully_on_at_idle_is_steady(self):
        assert "vacuum-half-on-at-idle" not in findings(
            changed(vacuum=VacuumRamp(15, 45, 12)), engine(idle_vacuum_kpa=60)
        )

    def test_a_vacuum_part_that_switches_on_within_the_idle_is_not_steady(self):
        assert "vacuum-half-on-at-idle" in findings(
            changed(vacuum=VacuumRamp(15, 45, 12, 800)), engine(idle_vacuum_kpa=60)
        )

    def test_a_vacuum_table_is_looked_at_in_the_same_way(self):
        table = VacuumTable([1000, 5000], [0, 20, 40, 60], [[0, 0], [0, 0], [6, 6], [6, 6]])
        assert "vacuum-half-on-at-idle" in findings(changed(vacuum=table), engine(idle_vacuum_kpa=30))
        assert "vacuum-half-on-at-idle" not in findings(changed(vacuum=table), engine(idle_vacuum_kpa=10))

    @pytest.mark.parametrize(
        ("altitude", "full", "found", "source"),
        [
            (0, 71.3, False, "handbook 3, US Standard Atmosphere: 71.325 kPa at sea level"),
            (0, 71.4, True, "the same"),
            (1000, 59.8, False, "59.876 kPa at 1000 m"),
            (1000, 59.9, True, "the same"),
            (2000, 49.5, False, "49.501 kPa at 2000 m"),
            (2000, 49.6, True, "the same"),
            (3000, 40.1, False, "40.121 kPa at 3000 m"),
            (3000, 40.2, True, "the same"),
        ],
    )
    def test_vacuum_that_there_never_is_at_that_height_is_a_caution(self, altitude, full, found, source):
        found_ = findings(changed(vacuum=VacuumRamp(10, full, 6, 1200)), altitude_m=altitude)
        assert ("vacuum-never-full" in found_) is found, source

    def test_the_finding_on_height_says_what_is_left_of_the_advance(self):
        # 49.501 kPa at 2000 m (handbook 3): of 12 degrees between 20 and 60 kPa, 12 * 29.501/40 = 8.85: by hand
        finding = findings(changed(vacuum=VacuumRamp(20, 60, 12, 1200)), altitude_m=2000)["vacuum-never-full"]
        assert finding.kind == "caution"
        assert (
            "complete at 60 kPa, but at 2000 m there is never more than 49.5 kPa: 8.9° of its 12°" in finding.sentence
        )
        assert "79.5 kPa" in finding.reason, "US Standard Atmosphere 1976: 795.01 mbar"
        assert "US Standard Atmosphere 1976" in finding.source
        assert finding.vacuum == pytest.approx((49.501, 60), abs=1e-3)

    def test_without_a_height_sea_level_is_the_least_that_is_known(self):
        found_ = findings(changed(vacuum=VacuumRamp(20, 75, 12, 1200)), altitude_m=None)
        assert "even at sea level there is never more than 71.33 kPa" in found_["vacuum-never-full"].sentence
        assert "missing-altitude" in found_

    def test_on_a_mountain_without_air_there_is_no_vacuum(self):
        # 26.5 kPa at 10 000 m, US Standard Atmosphere: below the lowest manifold pressure
        assert "never more than 0 kPa" in findings(altitude_m=10_000)["vacuum-never-full"].sentence

    def test_rows_of_a_table_that_are_never_reached_are_noted(self):
        table = VacuumTable([1000, 5000], [0, 40, 60, 80], [[0, 0], [3, 3], [6, 6], [6, 6]])
        found_ = findings(changed(vacuum=table), altitude_m=0)
        assert found_["vacuum-rows-never-reached"].kind == "note"
        assert (
            "One row of the vacuum table, from 80 kPa on, is never reached"
            in found_["vacuum-rows-never-reached"].sentence
        )
        finding = findings(changed(vacuum=table), altitude_m=2000)["vacuum-rows-never-reached"]
        assert "2 rows of the vacuum table, from 60 kPa on, are never reached: at 2000 m" in finding.sentence
        assert finding.vacuum == pytest.approx((49.501, 80), abs=1e-3)
        low = VacuumTable([1000, 5000], [0, 40], [[0, 0], [3, 3]])
        assert "vacuum-rows-never-reached" not in findings(changed(vacuum=low), altitude_m=2000)

    def test_a_pressure_is_said_in_the_persons_own_unit(self):
        found_ = findings(
            changed(vacuum=VacuumRamp(20, 60, 12, 1200)),
            altitude_m=2000,
            pressure=lambda kpa: f"{kpa / 3.386389:.1f} inHg",
        )
        assert "complete at 17.7 inHg" in found_["vacuum-never-full"].sentence, "NIST SP 811: 3.386389 kPa"

    def test_a_boosted_engine_without_retard_under_boost_stops(self):
        assert findings(engine=engine(boosted=True))["no-boost-retard"].kind == "stop"
        assert "no-boost-retard" in findings(changed(boost=BoostRetard([0, 50], [0, 0])), engine(boosted=True))
        assert "no-boost-retard" not in findings(changed(boost=BoostRetard([0, 50], [0, 6])), engine(boosted=True))

    def test_a_table_that_takes_out_under_boost_is_a_retard(self):
        takes = VacuumTable([1000, 5000], [-50, 0, 40], [[-6, -6], [0, 0], [6, 6]])
        assert "no-boost-retard" not in findings(changed(vacuum=takes), engine(boosted=True))
        gives = VacuumTable([1000, 5000], [-50, 0, 40], [[6, 6], [6, 6], [6, 6]])
        assert "no-boost-retard" in findings(changed(vacuum=gives), engine(boosted=True))
        ends_at_nought = VacuumTable([1000, 5000], [0, 40], [[0, 0], [6, 6]])
        assert "no-boost-retard" in findings(changed(vacuum=ends_at_nought), engine(boosted=True))

    def test_retard_for_a_boost_that_there_is_not_is_noted(self):
        finding = findings(changed(boost=BoostRetard([0, 50], [0, 6])), unit=None)["boost-retard-unused"]
        assert (finding.kind, finding.vacuum) == ("note", (-50.0, 0.0))
        assert "up to 6° under boost" in finding.sentence


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
            assert "2 steps between neighbouring cells" in found_["step-between-cells"].sentence
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


class TestRevLimit:
    @pytest.mark.parametrize(("limit", "found"), [(6000, False), (6001, True)])
    def test_a_rev_limit_above_the_red_line_stops(self, limit, found):
        found_ = findings(changed(rev_limit_rpm=limit))
        assert ("rev-limit-over-red-line" in found_) is found
        if found:
            finding = found_["rev-limit-over-red-line"]
            assert (finding.kind, finding.rpm) == ("stop", (6000.0, 6001.0))
            assert "The rev limit of 6001 rpm is above the red line of 6000 rpm" in finding.sentence

    @pytest.mark.parametrize(("last", "found"), [(5800, False), (5799, True)])
    def test_a_rev_limit_above_the_last_node_is_a_caution(self, last, found):
        # handbook 4, common practice
        found_ = findings(curve([500, 1000, last], [0, 0, 24]))
        assert ("rev-limit-beyond-curve" in found_) is found
        if found:
            finding = found_["rev-limit-beyond-curve"]
            assert (finding.kind, finding.rpm) == ("caution", (5799.0, 5800.0))
            assert "above the last node of the curve at 5799 rpm" in finding.sentence
            assert "24° held to the limit" in finding.sentence

    @pytest.mark.parametrize(("limit", "found"), [(5300, False), (5200, True), (3000, True)])
    def test_a_rev_limit_below_what_the_curve_uses_is_noted(self, limit, found):
        # from 22 at 4500 to 24 at 6000: more than 1 degree is left above 5250 rpm, by hand
        found_ = findings(changed(rev_limit_rpm=limit))
        assert ("rev-limit-below-curve" in found_) is found
        if found:
            assert found_["rev-limit-below-curve"].kind == "note"
            assert found_["rev-limit-below-curve"].rpm == (float(limit), 6000.0)

    def test_the_unused_part_is_said_in_degrees(self):
        sentence = findings(changed(rev_limit_rpm=4500))["rev-limit-below-curve"].sentence
        assert "still changes by 2° up to 6000 rpm, above the rev limit of 4500 rpm" in sentence

    def test_a_map_without_a_rev_limit_is_noted(self):
        found_ = findings(changed(rev_limit_rpm=None))
        assert found_["no-rev-limit"].kind == "note"
        assert "rev-limit-beyond-curve" not in found_


def six(**figures):
    """A six-cylinder engine, whose 3.5 ms of dwell and 1 ms of spark fit up to 4444 rpm (handbook 6)."""
    return engine(cylinders=6, rotor=None, has_distributor=False, **figures)


class TestSparks:
    def test_a_dwell_that_does_not_fit_at_the_rev_limit_is_a_caution(self):
        # handbook 6: 120/(N (t_d + t_spark)) = 4444.4 rpm; at 5800 rpm an interval of 3.448 ms leaves 2.45 ms
        finding = findings(engine=six())["dwell-does-not-fit"]
        assert finding.kind == "caution"
        assert finding.rpm == pytest.approx((4444.4, 5800), abs=0.1)
        assert "3.5 ms of dwell beside 1 ms of spark fit up to 4444 rpm" in finding.sentence
        assert "At 5800 rpm only 2.45 ms are left: 2.5 A and 25 mJ instead of 36 mJ" in finding.sentence
        assert "Ask for 2.4 ms or less" in finding.sentence

    def test_a_dwell_that_fits_is_not_spoken_of(self):
        assert "dwell-does-not-fit" not in findings(), "handbook 6: 6666.7 rpm with four cylinders"
        assert "dwell-does-not-fit" not in findings(changed(rev_limit_rpm=4400), six())
        assert "dwell-does-not-fit" in findings(changed(rev_limit_rpm=4500), six())

    def test_without_a_rev_limit_the_red_line_is_the_top_speed(self):
        assert "dwell-does-not-fit" in findings(changed(rev_limit_rpm=None), six())
        assert "At 6000 rpm" in findings(changed(rev_limit_rpm=None), six())["dwell-does-not-fit"].sentence

    def test_a_coils_own_spark_time_and_an_uneven_engine_are_heeded(self):
        assert "dwell-does-not-fit" in findings(coil=coil(spark_ms=2.0)), "3.5 + 2 ms in 5.17 ms at 5800 rpm"
        assert "dwell-does-not-fit" in findings(engine=engine(shortest_interval_deg=150)), "4.31 ms at 5800 rpm"
        assert "dwell-does-not-fit" in findings(engine=engine(strokes=2, rotor=None, has_distributor=False))

    @pytest.mark.parametrize(("dwell", "kind"), [(2.0, None), (1.4, "caution")])
    def test_a_spark_below_15_millijoules_at_top_speed_is_a_caution(self, dwell, kind):
        # handbook 6: below about 15 mJ a warning; the energy is that of the coil's formula, tested beside it
        found_ = findings(changed(dwell_ms=dwell))
        energy = COIL.primary.energy(COIL.primary.current(dwell))
        assert (energy < 15) is (kind is not None)
        assert ("weak-spark-at-top-speed" in found_) is (kind is not None)
        if kind:
            finding = found_["weak-spark-at-top-speed"]
            assert (finding.kind, finding.rpm) == (kind, (5800.0, 5800.0))
            assert f"At 5800 rpm the spark has {energy:.1f} mJ; below 15 mJ" in finding.sentence
            assert "modest-spark" not in found_

    def test_no_spark_at_all_stops(self):
        finding = findings(coil=coil(spark_ms=6.0))["weak-spark-at-top-speed"]
        assert finding.kind == "stop"
        assert "the spark has 0.0 mJ" in finding.sentence

    @pytest.mark.parametrize(("dwell", "found"), [(3.1, False), (2.8, True)])
    def test_a_spark_below_30_millijoules_is_noted(self, dwell, found):
        # handbook 6: 30 mJ or more is ordinary
        energy = COIL.primary.energy(COIL.primary.current(dwell))
        assert (energy < 30) is found
        found_ = findings(changed(dwell_ms=dwell))
        assert ("modest-spark" in found_) is found
        if found:
            assert found_["modest-spark"].kind == "note"
            assert f"holds {energy:.1f} mJ; 30 mJ is ordinary" in found_["modest-spark"].sentence

    @pytest.mark.parametrize(("limit", "found"), [(9.0, False), (8.0, True)])
    def test_a_coil_above_its_heat_stops(self, limit, found):
        # handbook 6: coil A at 3.5 ms on four cylinders takes 8.71 W at 6000 rpm, that is 8.42 W at 5800
        found_ = findings(coil=coil(heat_limit_w=limit))
        assert ("coil-too-hot" in found_) is found
        if found:
            finding = found_["coil-too-hot"]
            assert finding.kind == "stop"
            assert "takes 8.4 W at 5800 rpm; it bears 8 W" in finding.sentence
            assert finding.rpm[1] == 5800.0
            assert finding.rpm[0] == pytest.approx(8.0 / 8.707 * 6000, abs=150)

    def test_the_hottest_speed_is_where_the_dwell_just_fits(self):
        # up to 4444 rpm heat grows with speed, above it the dwell is cut faster than the sparks come
        finding = findings(engine=six(), coil=coil(heat_limit_w=5))["coil-too-hot"]
        assert "at 4444 rpm" in finding.sentence

    def test_a_coil_that_burns_when_left_on_is_a_caution(self):
        # handbook 6: coil A takes 4 A and 48 W with the ignition on and the engine stopped
        finding = findings(coil=coil(heat_limit_w=40))["coil-left-on"]
        assert finding.kind == "caution"
        assert "would take 4.0 A and 48 W, and it bears 40 W" in finding.sentence
        assert "coil-left-on" not in findings(coil=coil(heat_limit_w=48.1))
        assert "coil-left-on" not in findings(coil=coil(heat_limit_w=None))

    @pytest.mark.parametrize(("volts", "found"), [(9.0, False), (7.0, True)])
    def test_a_weak_spark_at_cranking_voltage_is_a_caution(self, volts, found):
        # the energy is that of the coil's formula, tested beside it
        energy = COIL.primary.at_supply(volts).energy(COIL.primary.at_supply(volts).current(5.0))
        assert (energy < 15) is found
        found_ = findings(changed(dwell_ms=5.0, rev_limit_rpm=4800), coil=coil(cranking_v=volts))
        assert ("weak-spark-cranking" in found_) is found
        if found:
            finding = found_["weak-spark-cranking"]
            assert (finding.kind, finding.rpm) == ("caution", (0.0, 500.0))
            assert f"At 7 V, while cranking, 5 ms charge the coil to 1.6 A and {energy:.1f} mJ" in finding.sentence
            assert "ballast" not in finding.sentence

    def test_a_ballast_in_the_way_while_cranking_is_named(self):
        # handbook 6: coil B at 7 V for 5 ms, 1.71506 A with ballast and 2.57491 A by-passed: 9.6 and 21.5 mJ
        primary = Primary(1.5, 6.5, 13.8, 1.5, wiring_ohm=0.2, switch_drop_v=1.0)
        map_ = changed(dwell_ms=5.0, rev_limit_rpm=4800)
        facts = CoilFacts(primary, cranking_v=7, heat_limit_w=60)
        sentence = findings(map_, coil=facts)["weak-spark-cranking"].sentence
        assert "to 1.7 A and 9.6 mJ" in sentence
        assert "By-pass the ballast while cranking" in sentence
        bypassed = dataclasses.replace(facts, ballast_bypassed_cranking=True)
        assert "weak-spark-cranking" not in findings(map_, coil=bypassed)

    def test_repeated_sparks_with_a_coil_current_tachometer_are_a_caution(self):
        repeated = changed(repeated_sparks=True)
        assert findings(repeated, engine(tachometer="coil current"))["repeated-sparks-tachometer"].kind == "caution"
        for other in ("coil voltage", "mechanical", "none"):
            assert "repeated-sparks-tachometer" not in findings(repeated, engine(tachometer=other))
        assert "repeated-sparks-tachometer" not in findings(engine=engine(tachometer="coil current"))


class TestMetal:
    @pytest.mark.parametrize(("edge", "found"), [(38.0, False), (37.0, True)])
    def test_advance_beyond_the_trigger_stops(self, edge, found):
        # handbook 7: the unit can only delay; the map's highest total is 37.73 degrees at the rev limit
        found_ = findings(engine=engine(trigger_deg=edge))
        assert ("beyond-trigger" in found_) is found
        if found:
            finding = found_["beyond-trigger"]
            assert finding.kind == "stop"
            assert "reaches 37.7° at 5800 rpm, and the trigger's edge comes at 37°" in finding.sentence

    def test_a_spark_on_the_edge_itself_is_too_early(self):
        level = changed(curve=AdvanceCurve([500, 1500, 6000], [0, 0, 22]), vacuum=None, rev_limit_rpm=6000)
        assert "beyond-trigger" in findings(level, engine(trigger_deg=30))
        assert "beyond-trigger" not in findings(level, engine(trigger_deg=30.001))

    def test_a_unit_that_predicts_may_go_beyond_the_edge(self):
        assert "beyond-trigger" not in findings(engine=engine(trigger_deg=10, trigger_predicts=True))
        assert "missing-trigger-position" not in findings(engine=engine(trigger_deg=None, trigger_predicts=True))

    @pytest.mark.parametrize(
        ("aligned", "tip", "found", "source"),
        [
            (24, 7, False, "handbook 7: 8-40 degrees, centred, overlap 2.7075 mm"),
            (8, 7, True, "handbook 7: locked at rest, just off the post"),
        ],
    )
    def test_a_rotor_that_leaves_its_post_stops(self, aligned, tip, found, source):
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        found_ = findings(map_, engine(rotor=RotorFacts(20, tip, 4, 0.7, aligned)))
        assert ("rotor-phasing" in found_) is found, source
        if found:
            finding = found_["rotor-phasing"]
            assert finding.kind == "stop"
            assert "At 40° the rotor tip is 16.0 distributor degrees before its post" in finding.sentence
            assert "in line at 24° instead of 8°" in finding.sentence
            assert "strobe" in finding.reason

    def test_a_range_too_wide_for_the_cap_stops(self):
        # handbook 7: eight cylinders, 6-46 degrees, locked at 6: refuse
        map_ = changed(base_deg=6, curve=AdvanceCurve([500, 1000, 6000], [0, 0, 40]), vacuum=None, rev_limit_rpm=6000)
        facts = engine(cylinders=8, rotor=RotorFacts(24, 9, 5, 0.7, 6))
        assert findings(map_, facts)["rotor-phasing"].kind == "stop"

    def test_where_to_lock_is_said_when_it_is_not_locked_yet(self):
        # half of 8 and 37.73 degrees
        finding = findings(engine=engine(rotor=dataclasses.replace(ROTOR, aligned_at_deg=None)))["rotor-lock"]
        assert finding.kind == "note"
        assert "in line at 22.9°: the map goes from 8° to 37.7°" in finding.sentence

    def test_posts_are_counted_where_there_are_not_as_many_as_cylinders(self):
        facts = engine(cylinders=4, rotor=dataclasses.replace(ROTOR, terminals=12))
        assert "rotor-phasing" in findings(engine=facts), "posts so near that the spark finds the next one"

    def test_a_rotor_that_cannot_be_is_a_caution(self):
        finding = findings(engine=engine(rotor=dataclasses.replace(ROTOR, tip_width_mm=40)))["rotor-figures"]
        assert finding.kind == "caution"
        assert "40 mm wide" in finding.sentence

    def test_the_limits_of_the_rotor_are_settings(self):
        assert "rotor-phasing" in findings(limits=ReviewLimits(rotor_overlap_mm=4))
        assert "rotor-phasing" in findings(limits=ReviewLimits(rotor_ratio=60))

    def test_an_engine_without_a_distributor_has_no_rotor_to_ask_for(self):
        assert "missing-rotor" not in findings(engine=engine(rotor=None, has_distributor=False))

    def test_a_single_post_has_no_neighbour(self):
        assert not {"rotor-phasing", "rotor-figures"} & set(findings(engine=engine(cylinders=1)))


class TestUnit:
    @pytest.mark.parametrize(("limit", "found"), [(0.6, False), (0.59, True)])
    def test_a_unit_that_strays_from_the_wanted_curve_is_a_caution(self, limit, found):
        # handbook 4, case A1: 0.6 degrees at best, at 1400 rpm
        wanted = changed(curve=AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22]))
        unit = dataclasses.replace(UNIT, nodes=FixedNodes([500, 1000, 1500, 2500, 3500]))
        found_ = findings(wanted, unit=unit, limits=ReviewLimits(deviation_deg=limit))
        assert ("fit-deviation" in found_) is found
        if found:
            finding = found_["fit-deviation"]
            assert finding.kind == "caution"
            assert "up to 0.6° away from the wanted one" in finding.sentence
            assert finding.rpm[0] == finding.rpm[1]

    def test_a_fit_that_is_at_hand_is_not_worked_out_again(self):
        rough = dataclasses.replace(fit_map(MAP, UNIT), worst_error=2.5, at_rpm=1400.0)
        finding = findings(fitted=rough)["fit-deviation"]
        assert "up to 2.5° away from the wanted one, at 1400 rpm; more than 1°" in finding.sentence
        assert "fit-deviation" in findings(unit=None, fitted=rough)
        assert "missing-unit-type" not in findings(unit=None, fitted=rough)

    def test_what_the_unit_cannot_hold_stops_with_every_reason(self):
        finding = findings(
            changed(repeated_sparks=True, dwell_ms=9), unit=dataclasses.replace(UNIT, repeated_sparks=False, entries=())
        )["unit-cannot-hold"]
        assert finding.kind == "stop"
        assert "dwell is 9 ms, the unit holds 1.0 to 6.0" in finding.sentence
        assert "repeated sparks" in finding.sentence

    def test_what_the_unit_rounds_and_leaves_open_is_noted(self):
        found_ = findings(changed(dwell_ms=3.52))
        assert found_["fit-rounding"].kind == "note"
        assert "dwell, 3.52 ms, is held as 3.5" in found_["fit-rounding"].sentence
        open_ = findings(changed(dwell_ms=None))["unit-entry-open"]
        assert open_.kind == "note"
        assert "the unit asks for a dwell, and the map gives none" in open_.sentence


class TestMissing:
    @pytest.mark.parametrize(
        ("engine_", "code", "words"),
        [
            ({"idle_rpm": None}, "missing-idle-speed", "the idle speed"),
            ({"red_line_rpm": None}, "missing-red-line", "the red line"),
            ({"fuel_ron": None}, "missing-octane", "the octane of the fuel"),
            ({"boosted": None}, "missing-boost", "whether the engine is boosted"),
            ({"cylinders": None}, "missing-cylinders", "the number of cylinders"),
            ({"trigger_deg": None}, "missing-trigger-position", "where the trigger's edge comes"),
            (
                {"rotor": None},
                "missing-rotor",
                "the rotor's radius, the rotor tip's width, the cap post's width and the",
            ),
            ({"rotor": RotorFacts(20, None, 4, 0.7)}, "missing-rotor", "Not recorded: the rotor tip's width. "),
        ],
    )
    def test_a_missing_figure_of_the_engine_is_named(self, engine_, code, words):
        found_ = findings(engine=engine(**engine_))
        assert found_[code].kind == "note"
        assert words in found_[code].sentence
        assert [other for other in found_ if other != code] == []

    def test_the_vacuum_at_idle_is_missing_only_where_the_vacuum_part_acts_at_idle(self):
        acts = changed(vacuum=VacuumRamp(15, 45, 6))
        assert "missing-idle-vacuum" in findings(acts, engine(idle_vacuum_kpa=None))
        assert "missing-idle-vacuum" not in findings(engine=engine(idle_vacuum_kpa=None))
        assert "missing-idle-vacuum" not in findings(changed(vacuum=None), engine(idle_vacuum_kpa=None))

    def test_the_tachometer_is_missing_only_with_repeated_sparks(self):
        assert "missing-tachometer" in findings(changed(repeated_sparks=True), engine(tachometer=None))
        assert "missing-tachometer" not in findings(engine=engine(tachometer=None))

    def test_the_height_is_missing_only_with_a_vacuum_part(self):
        assert "missing-altitude" in findings(altitude_m=None)
        assert "missing-altitude" not in findings(changed(vacuum=None), altitude_m=None)

    @pytest.mark.parametrize(
        ("facts", "codes"),
        [
            (None, {"missing-coil"}),
            (CoilFacts(), {"missing-coil"}),
            (coil(cranking_v=None), {"missing-cranking-voltage"}),
            (coil(heat_limit_w=None), {"missing-coil-heat"}),
        ],
    )
    def test_a_missing_figure_of_the_coil_is_named(self, facts, codes):
        assert set(findings(coil=facts)) == codes

    def test_the_heat_that_nobody_can_judge_is_said(self):
        assert (
            "whether 8.4 W at 5800 rpm is too much"
            in findings(coil=coil(heat_limit_w=None))["missing-coil-heat"].sentence
        )

    def test_a_missing_dwell_and_a_missing_top_speed_are_named(self):
        assert "missing-dwell" in findings(changed(dwell_ms=None))
        assert "missing-top-speed" in findings(changed(rev_limit_rpm=None), engine(red_line_rpm=None))

    def test_a_figure_that_several_checks_lack_is_one_note_with_all_questions(self):
        found_ = findings(changed(vacuum=VacuumRamp(15, 45, 6)), engine(idle_rpm=None))
        sentence = found_["missing-idle-speed"].sentence
        assert sentence == (
            "Not recorded: the idle speed. Without that nobody can say whether the advance makes the engine hunt at"
            " idle, nor whether the vacuum part is half-way on at idle."
        )

    def test_nothing_known_is_an_answer_too(self):
        found_ = {found.code for found in review(MAP, None, None, None)}
        assert found_ == {
            "missing-altitude",
            "missing-boost",
            "missing-coil",
            "missing-cylinders",
            "missing-idle-speed",
            "missing-octane",
            "missing-red-line",
            "missing-rotor",
            "missing-trigger-position",
            "missing-unit-type",
        }


class TestOrder:
    def test_stops_come_first_then_cautions_then_notes_each_by_speed(self):
        listed = [
            Finding(Kind.NOTE, "note", "", ""),
            Finding(Kind.CAUTION, "no-speed", "", ""),
            Finding(Kind.CAUTION, "fast", "", "", rpm=(3000, 4000)),
            Finding(Kind.CAUTION, "slow", "", "", rpm=(500, 900)),
            Finding(Kind.STOP, "stop", "", "", rpm=(6000, 7000)),
        ]
        assert [found.code for found in in_order(listed)] == ["stop", "slow", "fast", "no-speed", "note"]

    @given(
        st.lists(st.tuples(st.floats(0, 60), st.floats(1, 2000)), min_size=1, max_size=14),
        st.floats(-20, 40),
        st.none() | st.floats(300, 9000),
        st.none() | st.floats(0.2, 12),
        st.booleans(),
    )
    def test_any_map_is_reviewed_with_whole_sentences_in_order(self, nodes, base, rev_limit, dwell, known):
        rpm = 300 + np.cumsum([step for _, step in nodes])
        map_ = IgnitionMap(
            base,
            AdvanceCurve(rpm, [degrees for degrees, _ in nodes]),
            VacuumRamp(10, 75, 20, 900),
            dwell_ms=dwell,
            rev_limit_rpm=rev_limit,
            repeated_sparks=True,
        )
        listed = review(
            map_, ENGINE if known else None, UNIT if known else None, COIL if known else None, altitude_m=500
        )
        weights = [["stop", "caution", "note"].index(found.kind) for found in listed]
        assert weights == sorted(weights)
        for found in listed:
            assert found.sentence.endswith("."), found.sentence
            assert found.reason.endswith("."), found.reason
            assert found.source
            assert "nan" not in found.sentence
            assert "_" not in found.code
            for span in (found.rpm, found.vacuum):
                assert span is None or span[0] <= span[1]


class TestFacts:
    def test_the_usual_limits_are_those_of_the_handbook(self):
        usual = ReviewLimits()
        assert (usual.full_load_deg, usual.anywhere_deg, usual.slope_deg, usual.step_deg) == (38, 55, 25, 6), (
            "handbook 4"
        )
        assert (usual.cranking_rpm, usual.cranking_deg, usual.rising_from_rpm) == (500, 12, 1500), "handbook 4"
        assert (usual.lowest_manifold_kpa, usual.least_energy_mj, usual.ordinary_energy_mj) == (30, 15, 30), "3 and 6"
        assert (usual.rotor_overlap_mm, usual.rotor_ratio) == (1, 5), "handbook 7"

    @pytest.mark.parametrize(
        ("make", "words"),
        [
            (lambda: ReviewLimits(full_load_deg=-1), "the limit 'full load deg' must be 0 or more, not -1"),
            (lambda: ReviewLimits(slope_deg=math.nan), "the limit 'slope deg' must be a finite number"),
            (lambda: EngineFacts(cylinders=0), "the number of cylinders must be 1 or more, not 0"),
            (lambda: EngineFacts(strokes=3), "an engine has 2 or 4 strokes, not 3"),
            (lambda: EngineFacts(idle_rpm=0), "the idle speed must be above 0 rpm, not 0"),
            (lambda: EngineFacts(red_line_rpm=0), "the red line must be above 0 rpm, not 0"),
            (lambda: EngineFacts(idle_vacuum_kpa=0), "the vacuum at idle must be above 0 kPa, not 0"),
            (lambda: EngineFacts(fuel_ron=0), "the fuel's octane must be above 0 RON, not 0"),
            (lambda: EngineFacts(shortest_interval_deg=0), "the shortest interval must be above 0 degrees, not 0"),
            (lambda: EngineFacts(trigger_deg=math.inf), "the trigger's position must be a finite number"),
            (lambda: EngineFacts(full_load_limit_deg="a"), "the engine's limit at full load must be a number"),
            (lambda: EngineFacts(light_load_limit_deg="a"), "the engine's limit at light load must be a number"),
            (
                lambda: EngineFacts(tachometer="steam"),
                "a tachometer is one of none, coil current, coil voltage, mechanical",
            ),
            (lambda: RotorFacts(tip_radius_mm=0), "the rotor's radius must be above 0 mm, not 0"),
            (lambda: RotorFacts(tip_width_mm=0), "the rotor tip's width must be above 0 mm, not 0"),
            (lambda: RotorFacts(post_width_mm=0), "the cap post's width must be above 0 mm, not 0"),
            (lambda: RotorFacts(radial_gap_mm=0), "the rotor's air gap must be above 0 mm, not 0"),
            (
                lambda: RotorFacts(aligned_at_deg="a"),
                "the advance at which rotor and post are in line must be a number",
            ),
            (lambda: RotorFacts(terminals=1), "the number of cap terminals must be 2 or more, not 1"),
            (lambda: CoilFacts(cranking_v=0), "the voltage while cranking must be above 0 V, not 0"),
            (lambda: CoilFacts(heat_limit_w=0), "the heat the coil bears must be above 0 W, not 0"),
            (lambda: CoilFacts(spark_ms=0), "the time of a spark must be above 0 ms, not 0"),
            (lambda: EngineFacts(cylinders=25), "the number of cylinders must be 24 or less, not 25"),
            (lambda: EngineFacts(cylinders=6, shortest_interval_deg=121), "cannot be 121°: the mean one is only 120°"),
            (lambda: RotorFacts(terminals=25), "the number of cap terminals must be 24 or less, not 25"),
            (lambda: RotorFacts(aligned_at_deg=91), "rotor and post are in line must be 90 degrees or less, not 91"),
            (lambda: RotorFacts(aligned_at_deg=-61), "rotor and post are in line must be -60 degrees or more, not -61"),
            (lambda: coil(cranking_v=1.0), "a supply of 1 V does not exceed the 1 V that"),
            (lambda: review(MAP, None, None, None, altitude_m=11_001), "altitude must be 11000 m or less, not 11001"),
            (lambda: review(MAP, None, None, None, altitude_m=-5_001), "altitude must be -5000 m or more, not -5001"),
            (
                lambda: review(MAP, None, None, None, altitude_m=math.nan),
                "the workshop's altitude must be a finite number",
            ),
        ],
    )
    def test_facts_that_cannot_be_are_refused_with_the_figure(self, make, words):
        with pytest.raises(TimingError, match=words):
            make()

    def test_a_review_error_is_a_value_error(self):
        assert issubclass(ReviewError, ValueError)

    def test_a_circuit_while_cranking_needs_its_voltage(self):
        assert CoilFacts().cranking is None
        assert coil(cranking_v=None).cranking is None
        assert COIL.cranking == COIL.primary.at_supply(10)
