"""Findings about trigger, rotor and unit."""

import dataclasses

import pytest

from tests.timing.review.reviewed import COIL, ENGINE, MAP, ROTOR, UNIT, as_set, changed, engine, findings, says
from timing.curve import AdvanceCurve
from timing.distributor import TriggerPlace
from timing.review import ReviewLimits, RotorFacts, advance_range, review
from timing.review.finding import DELIVERED_ONLY, SET_ONLY
from timing.unit import BoostNodes, FixedNodes, Steps, TableEntries, fit_map
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable


class TestTrigger:
    @pytest.mark.parametrize(("edge", "found"), [(38.0, False), (37.0, True)])
    def test_advance_beyond_the_trigger_is_timed_from_the_edge_before_and_noted(self, edge, found):
        # handbook 4 and 7: said, not forbidden; the map's highest total is 37.73 degrees at the rev limit
        found_ = as_set(engine=engine(trigger_deg=edge))
        assert ("beyond-trigger" in found_) is found
        if found:
            finding = found_["beyond-trigger"]
            assert finding.kind == "note"
            assert says(finding, "37.7°", "5800 rpm", "37°", "from the edge before")
            assert finding.rpm == pytest.approx((5250.0, 5800.0)), "23 of the curve's 22 to 24 degrees, by hand"
            assert finding.vacuum[1] == 45.0

    def test_a_unit_that_cannot_time_from_the_edge_before_is_stopped(self):
        finding = as_set(engine=engine(trigger_deg=37, times_from_edge_before=False))["beyond-trigger"]
        assert finding.kind == "stop"
        assert says(finding, "37.7°", "5800 rpm", "37°")

    def test_a_spark_on_the_edge_itself_is_in_time(self):
        # handbook 7: where a unit adds nothing, it sparks at the edge
        level = changed(curve=AdvanceCurve([500, 1500, 6000], [0, 0, 22]), vacuum=None, rev_limit_rpm=6000)
        assert "beyond-trigger" not in as_set(level, engine(trigger_deg=30))
        assert "beyond-trigger" in as_set(level, engine(trigger_deg=29.999))


class TestRotor:
    @pytest.mark.parametrize(
        ("aligned", "tip", "found", "source"),
        [
            (24, 7, False, "handbook 7: 8-40 degrees, centred, overlap 2.7075 mm"),
            (8, 7, True, "handbook 7: locked at rest, just off the terminal"),
        ],
    )
    def test_a_rotor_that_leaves_its_post_stops(self, aligned, tip, found, source):
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        found_ = findings(map_, engine(rotor=RotorFacts(20, tip, 4, 0.7, aligned)))
        assert ("rotor-phasing" in found_) is found, source
        if found:
            finding = found_["rotor-phasing"]
            assert finding.kind == "stop"
            assert says(finding, "At 40°", "clears its terminal by 0.1 mm", "1 mm", "24°", "8°"), (
                "handbook 7: overlap -0.0851 mm"
            )
            assert "strobe" in finding.reason

    def test_the_range_of_advance_ends_at_the_rev_limit_and_has_vacuum_and_boost_in_it(self):
        # by hand: the base alone is the lowest; 22 and 1300 of the last 1500 rpm to 24, 23.73, and 6 of vacuum on top
        assert advance_range(MAP) == pytest.approx((8.0, 8.0 + 22.0 + 2.0 * 1300 / 1500 + 6.0))
        assert advance_range(changed(boost=BoostRetard([0, 50], [0, 5])))[0] == pytest.approx(3.0)

    def test_a_range_too_wide_for_the_cap_stops(self):
        # handbook 7: eight cylinders, 6-46 degrees, locked at 6: refuse
        map_ = changed(base_deg=6, curve=AdvanceCurve([500, 1000, 6000], [0, 0, 40]), vacuum=None, rev_limit_rpm=6000)
        facts = engine(cylinders=8, rotor=RotorFacts(24, 9, 5, 0.7, 6))
        finding = as_set(map_, facts)["rotor-phasing"]
        assert finding.kind == "stop"
        assert says(finding, "At 46°", "clears its terminal by 1.4 mm", "26°", "6°"), (
            "handbook 7: overlap -1.3776 mm; 26 would do"
        )

    def test_a_range_that_even_a_centred_rotor_cannot_serve_says_how_much_it_can(self):
        map_ = changed(base_deg=6, curve=AdvanceCurve([500, 1000, 6000], [0, 0, 49]), vacuum=None, rev_limit_rpm=6000)
        finding = as_set(map_, engine(cylinders=8, rotor=RotorFacts(24, 7, 4, 0.7)))["rotor-phasing"]
        # overlap of 1 mm: 4.5 mm of arc at 24 mm either side are 10.74 distributor degrees, 42.97 of crank: by hand
        assert says(finding, "6°", "55°", "42°")

    def test_where_to_lock_is_said_when_it_is_not_locked_yet(self):
        # half of 8 and 37.73 degrees
        finding = findings(engine=engine(rotor=dataclasses.replace(ROTOR, aligned_at_deg=None)))["rotor-not-measured"]
        assert finding.kind == "note"
        assert says(finding, "22.9°", "8°", "37.7°")

    @pytest.mark.parametrize(
        ("measured", "found", "source"),
        [
            ({"tip_at_edge_dist_deg": 0}, True, "in line at the base, 8: off the terminal at 40"),
            ({"tip_at_edge_dist_deg": -8}, False, "in line at 8 + 2 * 8 = 24, after the remedy"),
            ({"tip_at_edge_dist_deg": 0, "edge_deg": 24}, False, "an edge that the unit is told apart: in line at 24"),
            ({"tip_at_edge_dist_deg": 18, "edge_deg": 60}, False, "a trigger wheel: in line at 60 - 36 = 24"),
        ],
    )
    def test_a_tip_measured_at_the_trigger_s_edge_tells_where_it_is_in_line(self, measured, found, source):
        # handbook 7, the worked four: edge 8, range 8 to 40 degrees
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        rotor = RotorFacts(20, 7, 4, 0.7, trigger_place=TriggerPlace.DISTRIBUTOR, **measured)
        assert ("rotor-phasing" in as_set(map_, engine(rotor=rotor))) is found, source

    @pytest.mark.parametrize(("aligned", "found"), [(8, True), (24, False)])
    def test_a_trigger_on_the_crank_goes_by_where_tip_and_post_are_in_line(self, aligned, found):
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        rotor = RotorFacts(20, 7, 4, 0.7, aligned, trigger_place=TriggerPlace.CRANK_OR_CAMSHAFT)
        found_ = as_set(map_, engine(rotor=rotor))
        assert ("rotor-phasing" in found_) is found, "handbook 7: centred, or off the terminal"
        if found:
            assert says(found_["rotor-phasing"], "8.0 distributor degrees against"), "(24 - 8) / 2, by the body"

    def test_locking_is_not_spoken_of_once_it_is_done(self):
        # issue 10.5
        locked = dataclasses.replace(ROTOR, aligned_at_deg=None, is_locked=True)
        found_ = findings(engine=engine(rotor=locked))
        assert set(found_) == {"missing-rotor-phase"}
        assert "lock" not in found_["missing-rotor-phase"].sentence
        assert findings(engine=engine(rotor=dataclasses.replace(ROTOR, is_locked=True))) == {}

    def test_posts_are_counted_where_there_are_not_as_many_as_cylinders(self):
        facts = engine(cylinders=4, rotor=dataclasses.replace(ROTOR, terminals=12))
        assert "rotor-phasing" in findings(engine=facts), "terminals so near that the spark finds the next one"

    def test_a_rotor_that_cannot_be_is_a_caution(self):
        finding = findings(engine=engine(rotor=dataclasses.replace(ROTOR, tip_width_mm=40)))["rotor-figures"]
        assert finding.kind == "caution"
        # 2 pi 20 mm / 4 terminals, by hand; each part of the refusal is a sentence of its own
        assert says(finding, "A rotor tip 40 mm wide", "At a radius of 20 mm 4 terminals stand 31.4 mm apart.")

    def test_the_limits_of_the_rotor_are_settings(self):
        assert "rotor-phasing" in findings(limits=ReviewLimits(rotor_overlap_mm=4))
        assert "rotor-phasing" in findings(limits=ReviewLimits(rotor_ratio=60))

    def test_an_engine_without_a_distributor_has_no_rotor_to_ask_for(self):
        assert "missing-rotor" not in findings(engine=engine(rotor=None, has_distributor=False))

    def test_two_posts_are_looked_at(self):
        assert "rotor-not-measured" in findings(engine=engine(cylinders=2, rotor=RotorFacts(20, 8, 4, 0.7)))

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
            assert says(finding, "0.6°", "1400 rpm")
            assert finding.rpm[0] == finding.rpm[1]

    def test_a_fit_that_is_at_hand_is_not_worked_out_again(self):
        rough = dataclasses.replace(fit_map(MAP, UNIT), worst_error=2.5, at_rpm=1400.0)
        finding = findings(fitted=rough)["fit-deviation"]
        assert says(finding, "2.5°", "1400 rpm", "1°")
        assert "fit-deviation" in findings(unit=None, fitted=rough)
        assert "missing-unit-type" not in findings(unit=None, fitted=rough)

    def test_what_the_unit_cannot_hold_stops_with_every_reason(self):
        finding = findings(
            changed(repeated_sparks=True, dwell_ms=9), unit=dataclasses.replace(UNIT, repeated_sparks=False, entries=())
        )["unit-cannot-hold"]
        assert finding.kind == "stop"
        assert says(finding, "9 ms", "1.0 to 6.0", "repeated sparks")

    def test_what_the_unit_rounds_and_leaves_open_is_noted(self):
        found_ = findings(changed(dwell_ms=3.52))
        assert found_["fit-rounding"].kind == "note"
        assert says(found_["fit-rounding"], "dwell from 3.52 to 3.5 ms")
        open_ = findings(changed(dwell_ms=None))["unit-entry-open"]
        assert open_.kind == "note"
        assert open_.sentence == "The unit asks for a dwell, and the map gives none."

    @pytest.mark.parametrize(
        ("figures", "said"),
        [
            ({"dwell_ms": 3.509}, None),  # a tenth of the step of 0.1 ms is 0.01
            ({"dwell_ms": 3.51}, "dwell from 3.51 to 3.5 ms"),
            ({"base_deg": 8.09}, None),
            ({"base_deg": 8.1}, "base timing from 8.1 to 8°"),
            ({"rev_limit_rpm": 5809}, None),
            ({"rev_limit_rpm": 5810}, "the rev limit from 5810 to 5800 rpm"),
            ({"vacuum": VacuumRamp(15.09, 45, 6, 1200)}, None),
            ({"vacuum": VacuumRamp(15.2, 45, 6, 1200)}, "the start of the vacuum advance from 15.2 to 15 kPa"),
            ({"vacuum": VacuumRamp(15, 44.8, 6, 1200)}, "the end of the vacuum advance from 44.8 to 45 kPa"),
            ({"vacuum": VacuumRamp(15, 45, 5.95, 1200)}, None),
            ({"vacuum": VacuumRamp(15, 45, 5.8, 1200)}, "the full vacuum advance from 5.8 to 6°"),
            ({"vacuum": VacuumRamp(15, 45, 6, 1209)}, None),
            ({"vacuum": VacuumRamp(15, 45, 6, 1220)}, "the vacuum's lowest speed from 1220 to 1200 rpm"),
        ],
    )
    def test_roundings_below_a_tenth_of_a_step_or_of_a_degree_are_not_said(self, figures, said):
        # issue 8 A8: common practice, no source
        found_ = findings(changed(**figures))
        assert ("fit-rounding" in found_) is (said is not None)
        if said:
            assert says(found_["fit-rounding"], said)

    @pytest.mark.parametrize(("cell", "said"), [(5.95, None), (5.8, "0.2° more")])
    def test_a_table_on_the_units_steps_is_said_where_it_strays(self, cell, said):
        table = VacuumTable(rpm=[1000, 5000], vacuum=[10, 40], degrees=[[0, 0], [cell, cell]])
        entries = TableEntries("kPa", rpm=[1000, 5000], vacuum=[10, 40], degrees=Steps(0, 30, 1))
        unit = dataclasses.replace(UNIT, vacuum=entries, entries=())
        found_ = findings(changed(vacuum=table), unit=unit)
        assert ("fit-rounding" in found_) is (said is not None)
        if said:
            assert says(found_["fit-rounding"], said, "1000 rpm and 40 kPa")

    def test_what_a_recorded_fit_rounded_is_said_without_the_unit_type_too(self):
        set_ = changed(dwell_ms=3.52)
        found_ = findings(set_, unit=None, fitted=fit_map(set_, UNIT))
        assert says(found_["fit-rounding"], "dwell from 3.52 to 3.5 ms")

    @pytest.mark.parametrize(("retard", "said"), [(5.95, None), (5.8, "0.2° more"), (6.2, "0.2° less")])
    def test_a_retard_on_the_units_steps_is_said_where_it_strays(self, retard, said):
        unit = dataclasses.replace(UNIT, boost=BoostNodes("kPa", [0, 50], Steps(0, 20, 1)), entries=())
        found_ = findings(changed(boost=BoostRetard([0, 50], [0, retard])), engine(boosted=True), unit=unit)
        assert ("fit-rounding" in found_) is (said is not None)
        if said:
            assert says(found_["fit-rounding"], said, "50 kPa of boost")


class TestDelivered:
    """Issue 9.2: what is judged is the map as the unit delivers it."""

    def coarse(self, **figures):
        curve = AdvanceCurve([500, 1000, 1500, 2500, 3500, 4500, 6000], [0, 0, 6, 15, 21, 24, 30])
        return changed(curve=curve, vacuum=None, rev_limit_rpm=6000, **figures)

    def test_a_map_set_within_its_limit_and_delivered_beyond_it_stops(self):
        # set at 38, delivered at 39.0: limit 38, trigger edge 38.5
        map_ = self.coarse()
        unit = dataclasses.replace(UNIT, degree=Steps(0, 60, 3), base=None, counted_from="absolute", entries=())
        assert float(fit_map(map_, unit).map.total(rpm=6000, vacuum=0)) == 39.0
        found_ = findings(map_, engine(trigger_deg=38.5, rotor=None, has_distributor=False), unit=unit)
        assert found_["full-load-advance"].kind == "stop"
        assert says(found_["full-load-advance"], "39°", "38°", DELIVERED_ONLY)
        assert found_["beyond-trigger"].kind == "note"
        assert says(found_["beyond-trigger"], "39°", "38.5°", DELIVERED_ONLY)
        assert "full-load-advance" not in as_set(map_)

    def test_the_recorded_fit_is_what_is_judged(self):
        late = dataclasses.replace(fit_map(MAP, UNIT), map=changed(base_deg=20))
        assert "full-load-advance" in findings(fitted=late)
        assert says(findings(fitted=late)["full-load-advance"], DELIVERED_ONLY)

    def test_what_only_the_map_as_set_has_weighs_one_kind_less_and_says_so(self):
        wrong = changed(base_deg=20)
        found_ = findings(wrong, fitted=dataclasses.replace(fit_map(MAP, UNIT), map=MAP))
        assert "full-load-advance" in as_set(wrong)
        assert found_["full-load-advance"].kind == "caution"
        assert says(found_["full-load-advance"], SET_ONLY)
        assert found_["cranking-advance"].kind == "note"
        noted = changed(vacuum=VacuumRamp(15, 45, 7, 1200))
        assert "vacuum-comes-at-once" not in findings(noted, fitted=fit_map(MAP, UNIT)), "a note is left out"

    def test_what_both_have_is_said_once_with_the_delivered_figures(self):
        early = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 40.4]), rev_limit_rpm=6000)
        found_ = findings(early)["full-load-advance"]
        assert says(found_, "48°")
        assert DELIVERED_ONLY not in found_.sentence

    def test_the_same_finding_at_other_speeds_is_another(self):
        steep = changed(curve=AdvanceCurve([500, 1000, 1100, 6000], [0, 0, 8, 24]), rev_limit_rpm=6000)
        elsewhere = changed(curve=AdvanceCurve([500, 1000, 4000, 4100, 6000], [0, 0, 16, 22, 24]), rev_limit_rpm=6000)
        listed = review(
            steep, ENGINE, UNIT, COIL, altitude_m=300, fitted=dataclasses.replace(fit_map(MAP, UNIT), map=elsewhere)
        )
        slopes = [(found.rpm, found.kind) for found in listed if found.code == "steep-slope"]
        assert slopes == [((4000.0, 4100.0), "caution"), ((1000.0, 1100.0), "note")]

    def test_a_part_of_nothing_that_a_unit_must_be_told_is_no_part(self):
        assert fit_map(changed(vacuum=None), UNIT).map.vacuum is not None
        assert findings(changed(vacuum=None), engine(idle_vacuum_kpa=None), altitude_m=None) == {}
