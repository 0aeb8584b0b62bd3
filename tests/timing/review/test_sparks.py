"""Findings about rev limit, dwell, the coil's energy and heat, and the tachometer."""

import dataclasses

import pytest

from tests.timing.review.reviewed import COIL, changed, coil, curve, engine, findings
from timing.coil import Primary
from timing.review import CoilFacts, ReviewLimits


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

    def test_a_dwell_below_a_millisecond_may_still_be_asked_for(self):
        # 6.0 - 5.0 ms at 5000 rpm on four cylinders leave 1.0 ms, at 5300 rpm 0.66 ms: by hand
        assert (
            "Ask for 0.6 ms or less"
            in findings(changed(rev_limit_rpm=5300), coil=coil(spark_ms=5))["dwell-does-not-fit"].sentence
        )

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
        fit = findings(coil=coil(spark_ms=6.0))["dwell-does-not-fit"]
        assert "only 0.00 ms are left: 0.0 A and 0 mJ instead of 36 mJ. Lower the rev limit, or take" in fit.sentence

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
        finding = findings(repeated, engine(tachometer="coil current"))["repeated-sparks-tachometer"]
        assert finding.kind == "caution"
        assert finding.rpm == (0.0, ReviewLimits().cranking_rpm), "sparks repeat while cranking: common practice"
        for other in ("coil voltage", "mechanical", "none"):
            assert "repeated-sparks-tachometer" not in findings(repeated, engine(tachometer=other))
        assert "repeated-sparks-tachometer" not in findings(engine=engine(tachometer="coil current"))
