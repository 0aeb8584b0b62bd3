"""Findings about dwell, the coil's current, energy and heat, and the tachometer."""

import dataclasses

import pytest

from tests.timing.review.reviewed import COIL, changed, coil, engine, says
from tests.timing.review.reviewed import as_set as findings
from timing.coil import Primary
from timing.review import CoilFacts, ReviewLimits


def six(**figures):
    """A six-cylinder engine, whose 3.5 ms of dwell and 1 ms of spark fit up to 4444 rpm (handbook 6)."""
    return engine(cylinders=6, rotor=None, has_distributor=False, **figures)


class TestSparks:
    def test_a_dwell_that_does_not_fit_at_the_rev_limit_is_a_caution(self):
        # handbook 6: 120/(N (t_d + t_spark)) = 4444.4 rpm; at 5800 rpm an interval of 3.448 ms leaves 2.45 ms
        finding = findings(engine=six())["dwell-does-not-fit"]
        assert finding.kind == "caution"
        assert finding.rpm == pytest.approx((4444.4, 5800), abs=0.1)
        assert says(finding, "3.5 ms", "1 ms", "4444 rpm", "5800 rpm", "2.45 ms", "2.5 A", "25 mJ", "36 mJ", "2.4 ms")

    def test_a_dwell_below_a_millisecond_may_still_be_asked_for(self):
        # 6.0 - 5.0 ms at 5000 rpm on four cylinders leave 1.0 ms, at 5300 rpm 0.66 ms: by hand
        assert says(findings(changed(rev_limit_rpm=5300), coil=coil(spark_ms=5))["dwell-does-not-fit"], "0.6 ms")

    def test_a_dwell_that_fits_is_not_spoken_of(self):
        assert "dwell-does-not-fit" not in findings(), "handbook 6: 6666.7 rpm with four cylinders"
        assert "dwell-does-not-fit" not in findings(changed(rev_limit_rpm=4400), six())
        assert "dwell-does-not-fit" in findings(changed(rev_limit_rpm=4500), six())

    def test_without_a_rev_limit_the_red_line_is_the_top_speed(self):
        assert "dwell-does-not-fit" in findings(changed(rev_limit_rpm=None), six())
        assert says(findings(changed(rev_limit_rpm=None), six())["dwell-does-not-fit"], "6000 rpm")

    def test_a_coils_own_spark_time_and_an_uneven_engine_are_heeded(self):
        assert "dwell-does-not-fit" in findings(coil=coil(spark_ms=2.0)), "3.5 + 2 ms in 5.17 ms at 5800 rpm"
        assert "dwell-does-not-fit" in findings(engine=engine(intervals_deg=(150, 210))), "4.31 ms at 5800 rpm"
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
            assert says(finding, "5800 rpm", f"{energy:.1f} mJ", "15 mJ")
            assert "modest-spark" not in found_

    def test_no_spark_at_all_stops(self):
        finding = findings(coil=coil(spark_ms=6.0))["weak-spark-at-top-speed"]
        assert finding.kind == "stop"
        assert says(finding, "0.0 mJ")
        fit = findings(coil=coil(spark_ms=6.0))["dwell-does-not-fit"]
        assert says(fit, "0.00 ms", "0.0 A", "0 mJ", "36 mJ", "Lower the rev limit")

    @pytest.mark.parametrize(("dwell", "found"), [(3.1, False), (2.8, True)])
    def test_a_spark_below_30_millijoules_is_noted(self, dwell, found):
        # handbook 6: 30 mJ or more is ordinary
        energy = COIL.primary.energy(COIL.primary.current(dwell))
        assert (energy < 30) is found
        found_ = findings(changed(dwell_ms=dwell))
        assert ("modest-spark" in found_) is found
        if found:
            assert found_["modest-spark"].kind == "note"
            assert says(found_["modest-spark"], f"{energy:.1f} mJ", "30 mJ")

    @pytest.mark.parametrize(("limit", "found"), [(9.0, False), (8.0, True)])
    def test_a_coil_above_its_heat_stops(self, limit, found):
        # handbook 6: coil A at 3.5 ms on four cylinders takes 8.71 W at 6000 rpm, that is 8.42 W at 5800
        found_ = findings(coil=coil(heat_limit_w=limit))
        assert ("coil-too-hot" in found_) is found
        if found:
            finding = found_["coil-too-hot"]
            assert finding.kind == "stop"
            assert says(finding, "8.4 W", "5800 rpm", "8 W")
            assert finding.rpm[1] == 5800.0
            assert finding.rpm[0] == pytest.approx(8.0 / 8.707 * 6000, abs=150)

    def test_the_hottest_speed_is_where_the_dwell_just_fits(self):
        # up to 4444 rpm heat grows with speed, above it the dwell is cut faster than the sparks come
        finding = findings(engine=six(), coil=coil(heat_limit_w=5))["coil-too-hot"]
        assert says(finding, "4444 rpm")

    def test_a_coil_that_burns_when_left_on_is_a_caution(self):
        # handbook 6: coil A takes 4 A and 48 W with the ignition on and the engine stopped
        finding = findings(coil=coil(heat_limit_w=40))["coil-left-on"]
        assert finding.kind == "caution"
        assert says(finding, "4.0 A", "48 W", "40 W")
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
            assert says(finding, "7 V", "5 ms", "1.6 A", f"{energy:.1f} mJ")
            assert "ballast" not in finding.sentence

    def test_a_ballast_in_the_way_while_cranking_is_named(self):
        # handbook 6: coil B at 7 V for 5 ms, 1.71506 A with ballast and 2.57491 A by-passed: 9.6 and 21.5 mJ
        primary = Primary(1.5, 6.5, 13.8, 1.5, wiring_ohm=0.2, switch_drop_v=1.0)
        map_ = changed(dwell_ms=5.0, rev_limit_rpm=4800)
        facts = CoilFacts(primary, cranking_v=7, heat_limit_w=60)
        assert says(findings(map_, coil=facts)["weak-spark-cranking"], "1.7 A", "9.6 mJ", "By-pass the ballast")
        small = dataclasses.replace(facts, primary=dataclasses.replace(primary, ballast_ohm=0.8))
        assert says(findings(map_, coil=small)["weak-spark-cranking"], "By-pass the ballast")
        bypassed = dataclasses.replace(facts, ballast_bypassed_cranking=True)
        assert "weak-spark-cranking" not in findings(map_, coil=bypassed)

    def test_repeated_sparks_with_a_coil_current_tachometer_are_a_caution(self):
        repeated = changed(repeated_sparks=True)
        finding = findings(repeated, engine(tachometer="coil current"))["repeated-sparks-tachometer"]
        assert finding.kind == "caution"
        assert finding.rpm == (0.0, ReviewLimits().cranking_rpm), "sparks repeat while cranking: common practice"
        for other in ("coil voltage", "mechanical", "none"):
            assert "repeated-sparks-tachometer" not in findings(repeated, engine(tachometer=other))
        assert "repeated-sparks-tachometer" not in findings(engine=engine(tachometer="coil current"))

    def test_a_coil_is_as_cold_while_cranking_as_it_was_measured(self):
        # handbook 10: 1.5 ohm at 20 degrees are 1.8537 at 80; handbook 6: coil B by-passed, 7 V, 5 ms: 2.57491 A cold
        warm = Primary(1.8537, 6.5, 13.8, 1.5, wiring_ohm=0.2, switch_drop_v=1.0)
        facts = CoilFacts(warm, cranking_v=7, ballast_bypassed_cranking=True, cold_ohm=1.5, heat_limit_w=60)
        assert facts.cranking.current(5.0) == pytest.approx(2.57491, abs=5e-6)
        assert dataclasses.replace(facts, cold_ohm=None).cranking.resistance_ohm == 1.8537


class TestCurrent:
    """Issue 9.9: a low-resistance coil at long dwell without a limit; the usual most current is common practice."""

    # The handbook's coil C, without its limit.
    LOW = Primary(0.7, 4.5, 13.8, wiring_ohm=0.15, switch_drop_v=1.0)

    def test_more_current_than_usual_is_a_caution(self):
        facts = coil(primary=self.LOW, heat_limit_w=500)
        finding = findings(changed(dwell_ms=5.5, rev_limit_rpm=4500), coil=facts)["coil-current"]
        assert finding.kind == "caution"
        assert says(finding, "13.8 V", "5.5 ms", f"{self.LOW.current(5.5):.1f} A", "8 A")
        assert "coil-current" not in findings(coil=facts), "handbook 6: 7.3 A in 3.5 ms"

    @pytest.mark.parametrize(("most", "found"), [(7.0, True), (7.5, False)])
    def test_more_than_its_own_limit_stops(self, most, found):
        found_ = findings(coil=coil(primary=self.LOW, heat_limit_w=500, most_current_a=most))
        assert 7.0 < self.LOW.current(3.5) < 7.5
        assert ("coil-current" in found_) is found
        if found:
            assert found_["coil-current"].kind == "stop"
            assert says(found_["coil-current"], "7 A")

    def test_a_unit_that_limits_the_current_is_safe(self):
        limited = dataclasses.replace(self.LOW, current_limit_a=6.5)
        assert "coil-current" not in findings(changed(dwell_ms=5.5), coil=coil(primary=limited, heat_limit_w=500))

    def test_without_an_inductance_the_current_at_rest_and_its_heat_are_said(self):
        # handbook 6: coil A, ignition on and engine stopped: 4 A and 48 W
        unknown = dataclasses.replace(COIL.primary, inductance_mh=None)
        found_ = findings(coil=coil(primary=unknown))
        assert set(found_) == {"missing-inductance", "coil-at-rest", "missing-unit-type"}
        assert says(found_["coil-at-rest"], "4.0 A", "48 W")
        assert found_["coil-at-rest"].kind == "note"
        assert "coil-left-on" in findings(coil=coil(primary=unknown, heat_limit_w=40))

    def test_without_an_inductance_a_low_resistance_is_a_caution(self):
        # handbook 6: coil C without a limit tends to 15.06 A
        unknown = dataclasses.replace(self.LOW, inductance_mh=None)
        finding = findings(coil=coil(primary=unknown, heat_limit_w=500))["coil-current"]
        assert finding.kind == "caution"
        assert says(finding, "15.1 A", "8 A")


class TestWastedSpark:
    def test_a_wasted_spark_has_a_whole_turn_for_its_dwell_and_no_rotor(self):
        # issue 9.9: a false alarm; handbook 2: one spark a turn, 10.3 ms at 5800 rpm
        facts = engine(cylinders=6, rotor=None, wasted_spark=True)
        assert findings(engine=facts).keys() == {"missing-unit-type"}
        assert "dwell-does-not-fit" in findings(engine=engine(cylinders=6, rotor=None))

    def test_its_heat_is_that_of_one_spark_a_turn(self):
        # handbook 6: coil A, 3.5 ms: 8.71 W at 6000 rpm with two sparks a turn; half of it with one
        facts = engine(cylinders=4, rotor=None, wasted_spark=True)
        assert says(findings(engine=facts, coil=coil(heat_limit_w=4))["coil-too-hot"], "4.2 W", "5800 rpm")

    def test_a_wasted_spark_that_does_not_fit_is_found_all_the_same(self):
        facts = engine(cylinders=4, rotor=None, wasted_spark=True)
        assert "dwell-does-not-fit" in findings(engine=facts, coil=coil(spark_ms=7.0)), "10.5 ms in 10.3 ms at 5800 rpm"


def test_an_uneven_engine_heats_its_coil_by_all_its_intervals():
    # issue 9.8: 120 and 240 degrees; the coil's own tests say 6.06 W at 6000 rpm, the shortest alone 3.42
    facts = engine(intervals_deg=(120, 240))
    found_ = findings(changed(rev_limit_rpm=6000), facts, coil=coil(heat_limit_w=5))
    assert found_["coil-too-hot"].rpm[1] == 6000.0
