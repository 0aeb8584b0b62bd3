"""What the notes of a drive speak for at the points of the map itself."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.roadlog import (
    Driven,
    Part,
    Pinking,
    Place,
    RoadLogError,
    RoadLogSettings,
    correct,
    driven_clean,
    given_back,
    points_of,
    weights_at,
    with_changes,
)
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

CURVE = AdvanceCurve([500, 1000, 2000, 2500, 3000, 4000], [0, 0, 14, 18, 20, 22])
TABLE = VacuumTable(
    rpm=[1000, 2000, 4000], vacuum=[0, 20, 40, 60], degrees=[[0, 0, 0], [4, 5, 6], [8, 10, 12], [8, 12, 14]]
)
WITH_TABLE = IgnitionMap(base_deg=6, curve=CURVE, vacuum=TABLE)
WITH_RAMP = IgnitionMap(base_deg=6, curve=CURVE, vacuum=VacuumRamp(10, 40, 12, 1000))
PLAIN = IgnitionMap(base_deg=6, curve=CURVE)
HILL = Place(2600, 3.386, full_load=True)


def rising(*, low, high, least_apart):
    """Two to six nodes from `low` on, each `least_apart` or more above the one before, none above `high`."""
    most = (high - low) / 6
    steps = st.lists(st.floats(least_apart, most), min_size=1, max_size=5)
    return st.tuples(st.floats(low, low + most), steps).map(lambda made: np.cumsum([made[0], *made[1]]))


def taken(correction):
    """The retard by speed, on the speed curve."""
    pairs = zip(correction.points, correction.retard_deg, strict=True)
    return {point.rpm: degrees for point, degrees in pairs if point.part is Part.REVS and degrees}


def in_vacuum(ignition_map, weights):
    return weights[len(ignition_map.curve.rpm) :]


class TestWeights:
    @pytest.mark.parametrize("rpm", [300, 500, 1750, 2600, 3000, 9000])
    def test_at_full_load_they_are_those_of_the_curve_s_own_look_up(self, rpm):
        """Against scipy's RegularGridInterpolator of a unit impulse at each node."""
        impulses = RegularGridInterpolator((np.array(CURVE.rpm),), np.eye(6))
        weights = weights_at(WITH_TABLE, Place(rpm, 0))
        assert weights[:6] == pytest.approx(impulses([[np.clip(rpm, 500, 4000)]])[0])
        assert not weights[6:].any()

    @pytest.mark.parametrize(("rpm", "vacuum"), [(1500, 25), (2000, 40), (3300, 47.5), (900, 90), (7000, 33)])
    def test_at_part_load_they_are_those_of_the_vacuum_table_s_look_up(self, rpm, vacuum):
        """Against scipy's RegularGridInterpolator of a unit impulse at each node, held at the edges."""
        impulses = RegularGridInterpolator(((0, 20, 40, 60), (1000, 2000, 4000)), np.eye(12).reshape(4, 3, 12))
        at = [[np.clip(vacuum, 0, 60), np.clip(rpm, 1000, 4000)]]
        weights = weights_at(WITH_TABLE, Place(rpm, vacuum))
        assert in_vacuum(WITH_TABLE, weights) == pytest.approx(impulses(at)[0])
        assert not weights[:6].any()

    @given(
        rpm_nodes=rising(low=500, high=8000, least_apart=50),
        vacuum_nodes=rising(low=10, high=90, least_apart=1),
        rpm=st.floats(0, 9000),
        vacuum=st.floats(10, 100),
    )
    def test_of_any_map_they_are_those_of_its_two_look_ups(self, rpm_nodes, vacuum_nodes, rpm, vacuum):
        """Against scipy's RegularGridInterpolator of a unit impulse at each node, held at the edges.

        Every point of the table gives something and stands at part load, so that the curve is left with nothing there.
        """
        shape = (len(vacuum_nodes), len(rpm_nodes))
        table = VacuumTable(rpm=rpm_nodes, vacuum=vacuum_nodes, degrees=np.ones(shape))
        any_map = IgnitionMap(base_deg=6, curve=AdvanceCurve(rpm_nodes, np.zeros(len(rpm_nodes))), vacuum=table)
        held = np.clip([vacuum, rpm], [vacuum_nodes[0], rpm_nodes[0]], [vacuum_nodes[-1], rpm_nodes[-1]])
        in_table = RegularGridInterpolator((vacuum_nodes, rpm_nodes), np.eye(np.prod(shape)).reshape(*shape, -1))
        weights = weights_at(any_map, Place(rpm, vacuum))
        assert in_vacuum(any_map, weights) == pytest.approx(in_table(held)[0], abs=1e-9)
        assert weights[: shape[1]] == pytest.approx(0.0, abs=1e-9)
        on_curve = RegularGridInterpolator((rpm_nodes,), np.eye(shape[1]))
        at_full_load = weights_at(any_map, Place(rpm, vacuum, full_load=True))
        assert at_full_load[: shape[1]] == pytest.approx(on_curve(held[1:])[0], abs=1e-9)
        assert not in_vacuum(any_map, at_full_load).any()

    def test_what_the_look_up_takes_from_full_load_goes_to_the_curve(self):
        weights = weights_at(WITH_TABLE, Place(2000, 12))  # 0.4 of the row at full load, 0.6 of the one at 20 kPa
        assert weights[2] == pytest.approx(0.4)
        assert in_vacuum(WITH_TABLE, weights).sum() == pytest.approx(0.6)

    def test_a_ramp_answers_for_as_much_as_it_gives(self):
        weights = weights_at(WITH_RAMP, Place(2000, 25))
        assert weights[-1] == pytest.approx(0.5)
        assert weights.sum() == pytest.approx(1)
        assert weights_at(WITH_RAMP, Place(900, 25))[-1] == 0  # below the speed from which it acts

    @pytest.mark.parametrize("place", [HILL, Place(2600, 40, full_load=True), Place(2600, 0), Place(2600, -40)])
    def test_a_note_at_full_load_or_under_boost_never_touches_the_vacuum_part(self, place):
        boosted = IgnitionMap(base_deg=6, curve=CURVE, vacuum=TABLE, boost=BoostRetard([0, 50], [0, 6]))
        assert not in_vacuum(boosted, weights_at(boosted, place)).any()


class TestCorrection:
    def test_a_note_worked_by_hand_from_the_rule(self):
        """Handbook 9, by hand: clear is 2, twice at 2600 rpm. 2600 lies 0.2 of the way from 2500 to 3000, so the
        scores are 4 x 0.8 = 3.2 and 4 x 0.2 = 0.8; half degrees, rounded up: ceil(6.4)/2 = 3.5 and ceil(1.6)/2 = 1.
        """
        correction = correct(PLAIN, [Pinking(HILL, 2), Pinking(HILL, 2)], least_total_deg=5)
        assert correction.scores[3:5] == pytest.approx([3.2, 0.8])
        assert taken(correction) == {2500: 3.5, 3000: 1.0}

    def test_it_is_rounded_up_to_what_the_unit_can_hold(self):
        """The same by hand, in steps of a whole degree: ceil(3.2) and ceil(0.8)."""
        settings = RoadLogSettings(retard_step_deg=1)
        assert taken(correct(PLAIN, [Pinking(HILL, 2)] * 2, least_total_deg=5, settings=settings)) == {2500: 4, 3000: 1}

    def test_what_is_half_sure_counts_half(self):
        """By hand: 2 x 0.5 x 0.8 = 0.8 gives 1 degree, 2 x 0.5 x 0.2 = 0.2 falls short of 0.25 and gives none."""
        assert taken(correct(PLAIN, [Pinking(HILL, 2, confidence=0.5)], least_total_deg=5)) == {2500: 1.0}

    def test_nothing_is_taken_below_the_least_total_advance(self):
        correction = correct(PLAIN, [Pinking(HILL, 3)] * 3, least_total_deg=23)
        assert taken(correction) == {2500: 1.0, 3000: 2.0}  # 6 + 18 and 6 + 20, by hand: 1 degree is left, and 3
        assert correction.at_limit[3]

    def test_the_vacuum_part_never_takes_away(self):
        little = IgnitionMap(base_deg=6, curve=CURVE, vacuum=VacuumRamp(10, 40, 1.5))
        correction = correct(little, [Pinking(Place(2000, 60), 3)], least_total_deg=5)
        assert correction.retard_deg[-1] == 1.5

    def test_a_curve_at_its_steepest_is_not_made_steeper(self):
        """By hand: 12.5 degrees in 500 rpm are 25 in 1000, the most that is let be: the point above follows."""
        steep = IgnitionMap(base_deg=6, curve=AdvanceCurve([1000, 2000, 2500], [0, 10, 22.5]))
        assert taken(correct(steep, [Pinking(Place(2000, 0), 3)], least_total_deg=5)) == {2000: 3.0, 2500: 3.0}

    def test_without_pinking_nothing_is_proposed(self):
        assert not correct(WITH_TABLE, [], least_total_deg=5).retard_deg.any()

    def test_the_changed_map_gives_less_where_it_pinked_and_the_same_elsewhere(self):
        correction = correct(WITH_TABLE, [Pinking(HILL, 2)], least_total_deg=5)
        changed = with_changes(WITH_TABLE, -correction.retard_deg)
        assert changed.total(rpm=2600, vacuum=0) < WITH_TABLE.total(rpm=2600, vacuum=0)
        assert changed.total(rpm=4000, vacuum=40) == WITH_TABLE.total(rpm=4000, vacuum=40)
        assert changed.vacuum == TABLE

    def test_a_change_for_each_point_or_none(self):
        with pytest.raises(RoadLogError, match="the map has 6 points, not 1"):
            with_changes(PLAIN, [1])


class TestGivingBack:
    def test_one_degree_at_most_where_it_was_clean(self):
        """Handbook 9: at most 1 degree for each cell and drive."""
        back = given_back(PLAIN, [0, 0, 0, 3.5, 0.5, 2], [False, True, True, True, True, False])
        assert back.tolist() == [0, 0, 0, 1, 0.5, 0]

    def test_a_point_is_clean_where_it_was_driven_and_nothing_was_heard(self):
        fine = driven_clean(PLAIN, pinking=[], fine=[Place(2600, 2)], driven=[])
        assert [point.rpm for point, is_clean in zip(points_of(PLAIN), fine, strict=True) if is_clean] == [2500]
        assert not driven_clean(PLAIN, pinking=[Pinking(HILL, 1)], fine=[HILL], driven=[])[3]

    def test_two_seconds_in_a_log_are_a_drive_and_one_is_none(self):
        """Handbook 9: less than 2 s is not driven."""
        assert driven_clean(PLAIN, pinking=[], fine=[], driven=[Driven(Place(2500, 0), 2)])[3]
        assert not driven_clean(PLAIN, pinking=[], fine=[], driven=[Driven(Place(2500, 0), 1)])[3]

    def test_retard_for_every_point_or_none(self):
        with pytest.raises(RoadLogError):
            given_back(PLAIN, [1.0], [True])
