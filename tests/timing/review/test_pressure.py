"""Findings about manifold pressure: at idle, at the workshop's height, and under boost."""

import pytest

from tests.timing.review.reviewed import as_set as findings
from tests.timing.review.reviewed import changed, engine, says
from timing.review import ReviewLimits
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable


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
        assert says(finding, "800 rpm", "30 kPa", "6°", "4°")
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
        table = VacuumTable(rpm=[1000, 5000], vacuum=[0, 20, 40, 60], degrees=[[0, 0], [0, 0], [6, 6], [6, 6]])
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
        assert says(finding, "60 kPa", "2000 m", "49.5 kPa", "8.9°", "12°")
        assert "79.5 kPa" in finding.reason, "US Standard Atmosphere 1976: 795.01 mbar"
        assert "US Standard Atmosphere 1976" in finding.source
        assert finding.vacuum == pytest.approx((49.501, 60), abs=1e-3)

    def test_without_a_height_sea_level_is_the_least_that_is_known(self):
        found_ = findings(changed(vacuum=VacuumRamp(20, 75, 12, 1200)), altitude_m=None)
        assert says(found_["vacuum-never-full"], "71.33 kPa")
        assert "missing-altitude" in found_

    def test_on_a_mountain_without_air_there_is_no_vacuum(self):
        # 26.5 kPa at 10 000 m, US Standard Atmosphere: below the lowest manifold pressure
        assert says(findings(altitude_m=10_000)["vacuum-never-full"], "0 kPa")

    def test_rows_of_a_table_that_are_never_reached_are_noted(self):
        table = VacuumTable(rpm=[1000, 5000], vacuum=[0, 40, 60, 80], degrees=[[0, 0], [3, 3], [6, 6], [6, 6]])
        found_ = findings(changed(vacuum=table), altitude_m=0)
        assert found_["vacuum-rows-never-reached"].kind == "note"
        assert says(found_["vacuum-rows-never-reached"], "One row", "80 kPa")
        finding = findings(changed(vacuum=table), altitude_m=2000)["vacuum-rows-never-reached"]
        assert says(finding, "2 rows", "60 kPa", "2000 m")
        assert finding.vacuum == pytest.approx((49.501, 80), abs=1e-3)
        low = VacuumTable(rpm=[1000, 5000], vacuum=[0, 40], degrees=[[0, 0], [3, 3]])
        assert "vacuum-rows-never-reached" not in findings(changed(vacuum=low), altitude_m=2000)

    def test_a_pressure_is_said_in_the_persons_own_unit(self):
        found_ = findings(
            changed(vacuum=VacuumRamp(20, 60, 12, 1200)),
            altitude_m=2000,
            pressure=lambda kpa: f"{kpa / 3.386389:.1f} inHg",
        )
        assert says(found_["vacuum-never-full"], "17.7 inHg"), "NIST SP 811: 3.386389 kPa"

    def test_a_boosted_engine_without_retard_under_boost_stops(self):
        finding = findings(engine=engine(boosted=True))["no-boost-retard"]
        assert (finding.kind, finding.vacuum) == ("stop", None), "the map knows no boost"
        assert "no-boost-retard" in findings(changed(boost=BoostRetard([0, 50], [0, 0])), engine(boosted=True))
        assert "no-boost-retard" not in findings(changed(boost=BoostRetard([0, 50], [0, 6])), engine(boosted=True))

    @pytest.mark.parametrize(
        ("rows", "found", "source"),
        [
            ([[-6, -6], [0, 0], [6, 6]], False, "6 out at 50 kPa"),
            ([[6, 6], [6, 6], [6, 6]], True, "as much under boost as at atmosphere"),
            ([[0, 0], [0, 0], [12, 12]], True, "issue 9.3: less than at high vacuum, and no less than at full load"),
            ([[0, 0], [-6, -6], [0, 0]], True, "more under boost than at atmosphere"),
            ([[0, -6], [0, 0], [6, 6]], False, "below 2000 rpm there is no boost to speak of"),
            ([[-6, 0], [0, 0], [6, 6]], True, "nothing out where the boost is"),
        ],
    )
    def test_a_table_takes_out_under_boost_against_its_row_at_atmosphere(self, rows, found, source):
        table = VacuumTable(rpm=[1000, 2000], vacuum=[-50, 0, 40], degrees=rows)
        assert ("no-boost-retard" in findings(changed(vacuum=table), engine(boosted=True))) is found, source

    def test_a_table_that_ends_at_atmosphere_takes_nothing_out(self):
        ends_at_nought = VacuumTable(rpm=[1000, 5000], vacuum=[0, 40], degrees=[[0, 0], [6, 6]])
        assert "no-boost-retard" in findings(changed(vacuum=ends_at_nought), engine(boosted=True))

    @pytest.mark.parametrize(("retard", "found"), [(0.5, True), (4.9, True), (5.0, False), (8.0, False)])
    def test_half_a_degree_at_100_kpa_of_boost_stops(self, retard, found):
        # issue 9.3; the least retard is common practice, no source, and a setting
        found_ = findings(changed(boost=BoostRetard([0, 100], [0, retard])), engine(boosted=True))
        assert ("no-boost-retard" in found_) is found
        if found:
            assert (found_["no-boost-retard"].kind, found_["no-boost-retard"].vacuum) == ("stop", (-100.0, 0.0))
            assert says(found_["no-boost-retard"], "100 kPa", f"{retard:g}°", "5°")
        less = ReviewLimits(boost_retard_deg=0.5)
        weak = changed(boost=BoostRetard([0, 100], [0, 0.5]))
        assert "no-boost-retard" not in findings(weak, engine(boosted=True), limits=less)

    def test_retard_for_a_boost_that_there_is_not_is_noted(self):
        finding = findings(changed(boost=BoostRetard([0, 50], [0, 6])))["boost-retard-unused"]
        assert (finding.kind, finding.vacuum) == ("note", (-50.0, 0.0))
        assert says(finding, "6°")

    def test_retard_in_a_table_for_a_boost_that_there_is_not_is_noted_too(self):
        table = VacuumTable(rpm=[1000, 2000], vacuum=[-50, 0], degrees=[[-6, -6], [0, 0]])
        assert "boost-retard-unused" in findings(changed(vacuum=table))


class TestPort:
    def test_a_throttle_port_has_no_vacuum_at_idle_and_a_finding_says_why(self):
        # issue 10.4: base 8 and nothing of 12 degrees of vacuum; nothing to swing, and nothing missing
        map_ = changed(vacuum=VacuumRamp(15, 45, 12))
        found_ = findings(map_, engine(vacuum_port="throttle", idle_vacuum_kpa=30))
        assert (found_["no-vacuum-at-idle"].kind, found_["no-vacuum-at-idle"].rpm) == ("note", (700.0, 900.0))
        assert says(found_["no-vacuum-at-idle"], "800 rpm", "8°")
        assert "vacuum-half-on-at-idle" not in found_
        assert "missing-idle-vacuum" not in findings(map_, engine(vacuum_port="throttle", idle_vacuum_kpa=None))

    def test_on_a_throttle_port_idle_is_at_atmosphere_and_not_a_little_beyond(self):
        table = VacuumTable(rpm=[500, 5000], vacuum=[-10, 0, 40], degrees=[[-6, -6], [0, 0], [6, 6]])
        found_ = findings(changed(vacuum=table), engine(vacuum_port="throttle", boosted=True))
        assert says(found_["no-vacuum-at-idle"], "8°"), "the base, by hand"

    def test_a_manifold_port_is_as_before(self):
        map_ = changed(vacuum=VacuumRamp(15, 45, 12))
        assert "vacuum-half-on-at-idle" in findings(map_, engine(vacuum_port="manifold", idle_vacuum_kpa=30))

    def test_a_map_without_vacuum_at_idle_has_nothing_to_say_about_its_port(self):
        assert "no-vacuum-at-idle" not in findings(engine=engine(vacuum_port="throttle"))
        assert "no-vacuum-at-idle" not in findings(changed(vacuum=None), engine(vacuum_port="throttle"))

    def test_idle_is_drawn_with_what_the_pipe_has_there(self):
        assert engine(vacuum_port="throttle").vacuum_at_idle_kpa == 0.0
        assert engine(vacuum_port="manifold").vacuum_at_idle_kpa == 60.0
        assert engine(idle_vacuum_kpa=None).vacuum_at_idle_kpa is None


class TestSteep:
    @pytest.mark.parametrize(
        ("part", "found"),
        [
            (VacuumRamp(20, 20.1, 20, 1200), True),
            (VacuumRamp(20, 30.0, 20, 1200), False),
            (VacuumRamp(20, 29.9, 20, 1200), True),
            (VacuumRamp(20, 20.1, 1, 1200), False),
            (VacuumTable(rpm=[1000, 2000], vacuum=[0, 20, 20.1], degrees=[[0, 0], [0, 0], [0, 6]]), True),
            (VacuumTable(rpm=[1000, 2000], vacuum=[0, 20, 30], degrees=[[0, 0], [0, 0], [0, 6]]), False),
        ],
    )
    def test_vacuum_advance_that_comes_within_a_hair_is_a_caution(self, part, found):
        # issue 9.9: 20 degrees within 0.1 kPa; more than 2 degrees a kPa: common practice, no source
        assert ("steep-vacuum" in findings(changed(vacuum=part))) is found

    def test_the_finding_says_where_and_how_steep(self):
        finding = findings(changed(vacuum=VacuumRamp(20, 20.1, 20, 1200)))["steep-vacuum"]
        assert (finding.kind, finding.vacuum) == ("caution", (20.0, 20.1))
        assert says(finding, "20 kPa", "20°", "200°", "2°")
