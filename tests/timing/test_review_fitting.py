"""Findings about trigger, rotor and unit."""

import dataclasses

import pytest

from tests.timing.reviewed import MAP, ROTOR, UNIT, changed, engine, findings
from timing.curve import AdvanceCurve
from timing.distributor import TriggerPlace
from timing.review import ReviewLimits, RotorFacts, advance_range
from timing.unit import FixedNodes, fit_map
from timing.vacuum import BoostRetard


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
            assert finding.rpm == pytest.approx((5250.0, 5800.0)), "23 of the curve's 22 to 24 degrees, by hand"
            assert finding.vacuum[1] == 45.0

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
            (8, 7, True, "handbook 7: edge at base timing, plate as the factory left it: just off the post"),
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

    def test_the_range_of_advance_ends_at_the_rev_limit_and_has_vacuum_and_boost_in_it(self):
        # by hand: the base alone is the lowest; 22 and 1300 of the last 1500 rpm to 24, 23.73, and 6 of vacuum on top
        assert advance_range(MAP) == pytest.approx((8.0, 8.0 + 22.0 + 2.0 * 1300 / 1500 + 6.0))
        assert advance_range(changed(boost=BoostRetard([0, 50], [0, 5])))[0] == pytest.approx(3.0)

    def test_a_range_too_wide_for_the_cap_stops(self):
        # handbook 7: eight cylinders, 6-46 degrees, in line at 6: refuse
        map_ = changed(base_deg=6, curve=AdvanceCurve([500, 1000, 6000], [0, 0, 40]), vacuum=None, rev_limit_rpm=6000)
        facts = engine(cylinders=8, rotor=RotorFacts(24, 9, 5, 0.7, 6))
        assert findings(map_, facts)["rotor-phasing"].kind == "stop"

    @pytest.mark.parametrize(
        ("place", "measure"),
        [
            (None, "Record where the trigger sits"),
            (TriggerPlace.DISTRIBUTOR, "Measure how far the tip is from its post at the trigger's edge."),
            (TriggerPlace.CRANK_OR_CAMSHAFT, "Measure the crank angle at which they are in line; the body sets it."),
        ],
    )
    def test_what_is_to_be_measured_is_said_while_nobody_has(self, place, measure):
        # half of 8 and 37.73 degrees
        rotor = dataclasses.replace(ROTOR, aligned_at_deg=None, trigger_place=place)
        finding = findings(engine=engine(rotor=rotor))["rotor-not-measured"]
        assert finding.kind == "note"
        assert "in line at 22.9°: the map goes from 8° to 37.7°" in finding.sentence
        assert measure in finding.sentence

    def test_a_trigger_in_the_distributor_is_brought_into_line_with_plate_and_body(self):
        # handbook 7, worked: edge = base = 8, tip in line at the edge, range 8 to 40: plate 8 with, body 8 against
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        in_distributor = RotorFacts(
            20, 7, 4, 0.7, trigger_place=TriggerPlace.DISTRIBUTOR, tip_at_edge_dist_deg=0, plate_moves=True
        )
        said = findings(map_, engine(rotor=in_distributor))["rotor-phasing"].sentence
        assert "At 40° the rotor tip is 16.0 distributor degrees before its post" in said
        assert "Move the plate or pick-up 8.0 distributor degrees with the turn of the rotor." in said
        assert "Then turn the body 8.0 distributor degrees against the turn of the rotor." in said
        assert "lock" not in said
        done = dataclasses.replace(in_distributor, tip_at_edge_dist_deg=-8)
        assert not {"rotor-phasing", "rotor-not-measured"} & set(findings(map_, engine(rotor=done)))

    def test_a_plate_that_is_fixed_is_not_told_to_move(self):
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        fixed = RotorFacts(
            20, 7, 4, 0.7, trigger_place=TriggerPlace.DISTRIBUTOR, tip_at_edge_dist_deg=0, plate_moves=False
        )
        said = findings(map_, engine(rotor=fixed))["rotor-phasing"].sentence
        assert "Re-index the rotor 8.0 distributor degrees" in said
        assert "plate" not in said

    def test_an_edge_that_the_unit_is_told_apart_counts_and_not_the_base_timing(self):
        # handbook 7: edge at 60, in line at 24 wanted: (60 - 24) / 2 = 18 distributor degrees
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        apart = RotorFacts(20, 7, 4, 0.7, trigger_place=TriggerPlace.DISTRIBUTOR, edge_deg=60, tip_at_edge_dist_deg=18)
        assert apart.setting(8).aligned_at_deg == pytest.approx(24)
        assert "rotor-phasing" not in findings(map_, engine(rotor=apart))
        assert "rotor-phasing" in findings(map_, engine(rotor=dataclasses.replace(apart, edge_deg=None)))

    def test_a_distributor_that_triggers_nothing_is_set_with_its_body(self):
        map_ = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
        crank = RotorFacts(20, 7, 4, 0.7, 8, trigger_place=TriggerPlace.CRANK_OR_CAMSHAFT)
        said = findings(map_, engine(rotor=crank))["rotor-phasing"].sentence
        assert "Turn the body 8.0 distributor degrees against the turn of the rotor." in said
        assert "plate" not in said

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
        assert "dwell, 3.52 ms, is keyed in as 3.5" in found_["fit-rounding"].sentence
        open_ = findings(changed(dwell_ms=None))["unit-entry-open"]
        assert open_.kind == "note"
        assert "the unit asks for a dwell, and the map gives none" in open_.sentence
