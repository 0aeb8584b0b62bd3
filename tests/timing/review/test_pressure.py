"""Findings about manifold pressure: at idle, at the workshop's height, and under boost."""

import pytest

from tests.timing.review.reviewed import changed, engine, findings
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
