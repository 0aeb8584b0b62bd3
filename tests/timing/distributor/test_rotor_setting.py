"""Which bolt changes what under the cap, judged by a distributor of four bodies that is turned and looked at."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.distributor.four_bodies import FourBodies
from timing.distributor import (
    CrankTrigger,
    DistributorTrigger,
    Move,
    Part,
    TriggerPlace,
    angle_of_arc,
    effect_of,
)
from timing.errors import TimingError

anywhere = st.floats(-180, 180)
some = st.floats(-25, 25)  # no plate, body or rotor is moved further
distributors = st.builds(
    FourBodies,
    clockwise=st.booleans(),
    crank_turns=st.sampled_from([2.0, 1.0]),
    lobe_on_cam=anywhere,
    tip_on_cam=anywhere,
    cam_on_shaft=some,
    heel_on_plate=anywhere,
    plate_on_body=some,
    body_on_engine=anywhere,
    post_on_cap=anywhere,
    cap_on_body=some,
)
parts = st.lists(st.tuples(st.sampled_from(Part), some), max_size=4)


def same(angle, other, cycle):
    """Equal but for whole turns."""
    return math.remainder(angle - other, cycle) == pytest.approx(0, abs=1e-6)


def strokes_of(bodies):
    return 4 if bodies.crank_turns == 2.0 else 2


def as_measured(bodies):
    """What a mechanic measures: the crank angle when the contacts open, and where the tip stands then."""
    edge = bodies.opens_at()
    return DistributorTrigger(edge, bodies.tip_to_post(-edge), strokes=strokes_of(bodies))


class TestFourBodies:
    @given(distributors, st.floats(-60, 90))
    def test_the_tip_is_found_where_the_bodies_put_it_at_any_spark(self, bodies, spark):
        setting = as_measured(bodies)
        assert same(setting.offset_dist_deg(spark), bodies.tip_to_post(-spark), 360), "four bodies"
        assert same(setting.aligned_at_deg, bodies.in_line_at(), 360 * bodies.crank_turns), "four bodies"

    @given(distributors, parts)
    def test_each_part_moved_changes_the_three_figures_as_the_bodies_show(self, bodies, moves):
        predicted = as_measured(bodies).after([Move(part, degrees) for part, degrees in moves])
        for part, degrees in moves:
            bodies = bodies.moved(part.value, degrees)
        found, cycle = as_measured(bodies), 360 * bodies.crank_turns
        assert same(predicted.edge_deg, found.edge_deg, cycle), "four bodies"
        assert same(predicted.tip_at_edge_dist_deg, found.tip_at_edge_dist_deg, 360), "four bodies"
        assert same(predicted.aligned_at_deg, found.aligned_at_deg, cycle), "four bodies"

    @given(distributors, parts, st.floats(-60, 90))
    def test_a_distributor_that_triggers_nothing_is_set_by_the_same_parts(self, bodies, moves, spark):
        predicted = CrankTrigger(bodies.in_line_at(), strokes_of(bodies)).after([Move(*move) for move in moves])
        for part, degrees in moves:
            bodies = bodies.moved(part.value, degrees)
        assert same(predicted.aligned_at_deg, bodies.in_line_at(), 360 * bodies.crank_turns), "four bodies"
        assert same(predicted.offset_dist_deg(spark), bodies.tip_to_post(-spark), 360), "four bodies"

    @pytest.mark.parametrize("place", TriggerPlace)
    @pytest.mark.parametrize("part", Part)
    @pytest.mark.parametrize("strokes", [4, 2])
    def test_the_effect_of_a_part_is_what_one_degree_of_it_does(self, place, part, strokes):
        one = [Move(part, 1.0)]
        effect = effect_of(part, place, strokes)
        if place is TriggerPlace.CRANK_OR_CAMSHAFT:
            assert effect[:2] == (0, 0)
            assert effect.aligned_at_deg == CrankTrigger(10, strokes).after(one).aligned_at_deg - 10
        else:
            after = DistributorTrigger(10, 3, strokes).after(one)
            assert (effect.edge_deg, effect.tip_at_edge_dist_deg) == (
                after.edge_deg - 10,
                after.tip_at_edge_dist_deg - 3,
            )
            assert effect.aligned_at_deg == pytest.approx(
                after.aligned_at_deg - DistributorTrigger(10, 3, strokes).aligned_at_deg
            )


class TestWorked:
    def test_with_the_edge_at_base_timing_tip_and_post_are_in_line_there(self):
        setting = DistributorTrigger(8, 0)
        assert setting.aligned_at_deg == 8, "handbook 7, worked"
        assert setting.offset_dist_deg(40) == 16, "handbook 7, worked"

    def test_plate_with_the_turn_and_body_against_it_keep_the_edge_and_move_the_tip(self):
        after = DistributorTrigger(8, 0).after([Move(Part.PLATE, 8), Move(Part.BODY, -8)])
        assert after == DistributorTrigger(8, -8), "handbook 7, worked"
        assert (after.offset_dist_deg(8), after.offset_dist_deg(40)) == (-8, 8), "handbook 7, worked"
        assert after.aligned_at_deg == 24, "handbook 7, worked"

    def test_a_setting_knows_where_its_trigger_sits_and_holds_plain_figures(self):
        own, elsewhere = DistributorTrigger(np.float32(8), np.int64(0)), CrankTrigger(np.float32(24))
        assert (own.place, elsewhere.place) == (TriggerPlace.DISTRIBUTOR, TriggerPlace.CRANK_OR_CAMSHAFT)
        for figure in (own.edge_deg, own.tip_at_edge_dist_deg, elsewhere.aligned_at_deg):
            assert type(figure) is float

    def test_an_edge_of_a_wheel_at_60_wants_the_tip_18_degrees_before_its_post(self):
        assert DistributorTrigger(60, 18).aligned_at_deg == 24, "handbook 7"

    @pytest.mark.parametrize("part", [Part.WEIGHTS, Part.BODY])
    def test_neither_lock_angle_nor_body_moves_the_tip_at_the_edge(self, part):
        assert effect_of(part, TriggerPlace.DISTRIBUTOR).tip_at_edge_dist_deg == 0, "handbook 7, what changes what"

    @pytest.mark.parametrize("part", [Part.WEIGHTS, Part.BODY])
    def test_without_a_trigger_of_its_own_lock_angle_and_body_set_the_rotor(self, part):
        assert abs(effect_of(part, TriggerPlace.CRANK_OR_CAMSHAFT).aligned_at_deg) == 2, "handbook 7, what changes what"

    @pytest.mark.parametrize(
        ("terminals", "strokes", "before"), [(4, 4, 188), (6, 4, 128), (8, 4, 98), (2, 4, 368), (2, 2, 188)]
    )
    def test_the_edge_before_is_one_firing_interval_earlier(self, terminals, strokes, before):
        assert DistributorTrigger(8, 0, strokes).edge_before_deg(terminals) == before, "handbook 2, firing intervals"


class TestMove:
    @pytest.mark.parametrize(("degrees", "onward"), [(8, True), (-8, False), (0, True)])
    @pytest.mark.parametrize("clockwise", [True, False])
    def test_with_the_turn_is_clockwise_where_the_rotor_is(self, degrees, onward, clockwise):
        move = Move(Part.BODY, degrees, radius_mm=45)
        assert move.with_the_turn is onward
        assert move.is_clockwise(clockwise) is (onward is clockwise)
        assert move.amount_dist_deg == abs(degrees)
        assert move.amount_mm == pytest.approx(2 * math.pi * 45 * abs(degrees) / 360), "share of the rim"

    def test_without_a_radius_there_is_no_length(self):
        assert Move(Part.BODY, 8).amount_mm is None


class TestArc:
    @pytest.mark.parametrize(
        ("arc", "radius", "degrees", "source"),
        [
            (5.5851, 20, 16, "handbook 7: 16 degrees at a radius of 20 mm"),
            (-8.3776, 24, -20, "handbook 7: 20 degrees at a radius of 24 mm, past the terminal"),
            (math.pi * 30, 30, 180, "half round, by hand"),
            (0, 30, 0, "in line"),
        ],
    )
    def test_an_arc_between_two_marks_is_an_angle_at_its_own_radius(self, arc, radius, degrees, source):
        assert angle_of_arc(arc, radius) == pytest.approx(degrees, abs=5e-4), source

    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            ((5, 0), "the radius of the marks must be above 0 mm, not 0"),
            ((200, 30), "the arc between the marks must be 188.496 mm or less, not 200"),
            ((math.nan, 30), "the arc between the marks must be a finite number"),
        ],
    )
    def test_an_arc_that_cannot_be_is_refused(self, arguments, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            angle_of_arc(*arguments)


# What a refusal calls two of the figures.
TIP = "the rotor tip at the edge"
IN_LINE = "the angle at which rotor and terminal are in line"


class TestRefusals:
    @pytest.mark.parametrize(
        ("make", "message"),
        [
            (lambda: DistributorTrigger(361, 0), "the trigger's edge must be 360 degrees or less, not 361"),
            (lambda: DistributorTrigger(-361, 0), "the trigger's edge must be -360 degrees or more, not -361"),
            (lambda: DistributorTrigger(8, 181), f"{TIP} must be 180 distributor degrees or less, not 181"),
            (lambda: DistributorTrigger(8, -181), f"{TIP} must be -180 distributor degrees or more, not -181"),
            (lambda: DistributorTrigger(8, math.nan), f"{TIP} must be a finite number"),
            (lambda: DistributorTrigger(8, 0, 3), "an engine has two strokes or four, not 3"),
            (lambda: CrankTrigger(-361), f"{IN_LINE} must be -360 degrees or more, not -361"),
            (lambda: CrankTrigger(361), f"{IN_LINE} must be 360 degrees or less, not 361"),
            (lambda: CrankTrigger(8, 3), "an engine has two strokes or four, not 3"),
            (lambda: effect_of(Part.BODY, TriggerPlace.DISTRIBUTOR, 3), "an engine has two strokes or four, not 3"),
        ],
    )
    def test_what_no_distributor_has_is_refused(self, make, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            make()
