"""Edits of some nodes of a curve: shifted, scaled, smoothed, laid on a ramp."""

import pytest
from hypothesis import given

from tests.timing.worked_curves import KNEED, curves
from timing.curve import AdvanceCurve, CurveError
from timing.errors import TimingError
from timing.nodes import ramp_between, scale_nodes, shift_nodes, smooth_nodes


def test_chosen_nodes_are_shifted_and_the_others_stay():
    assert shift_nodes(KNEED, [0, 2, 4], 1.5).degrees == (1.5, 2, 10.5, 15, 23.5)
    assert shift_nodes(KNEED, [], 1.5) == KNEED


def test_a_node_chosen_twice_is_shifted_once():
    assert shift_nodes(KNEED, [1, 1], 1).degrees == (0, 3, 9, 15, 22)


def test_chosen_nodes_are_scaled_and_the_others_stay():
    assert scale_nodes(KNEED, [1, 2], 3).degrees == (0, 6, 27, 15, 22)


def test_smoothing_moves_nodes_half_way_to_the_line_between_their_neighbours():
    # By hand: 1000 rpm lies 5/9 up the line from 0 to 9 degrees, that is 5; 1400 a third of the way from 2
    # to 15, that is 6 1/3. Both move half way there, each from where the other stood before.
    assert smooth_nodes(KNEED, [1, 2]).degrees == pytest.approx((0, 3.5, 9 - 4 / 3, 15, 22), abs=1e-12)


def test_the_last_node_but_one_is_smoothed_too():
    # By hand: 2200 rpm lies 8/21 up the line from 9 to 22 degrees, that is 9 + 104/21.
    assert smooth_nodes(KNEED, [3]).degrees[3] == pytest.approx((15 + 9 + 104 / 21) / 2, abs=1e-12)


def test_smoothing_wholly_lays_a_node_on_the_line_and_not_at_all_leaves_it():
    assert smooth_nodes(KNEED, [1], share=1).degrees[1] == pytest.approx(5, abs=1e-12)
    assert smooth_nodes(KNEED, [1], share=0) == KNEED


def test_smoothing_leaves_the_ends_of_the_curve():
    assert smooth_nodes(KNEED, [0, 4]) == KNEED
    assert smooth_nodes(AdvanceCurve([1000], [5]), [0]).degrees == (5,)


@given(curves())
def test_smoothing_never_leaves_the_range_of_the_curve(curve):
    smooth = smooth_nodes(curve, range(len(curve.rpm)))
    assert min(curve.degrees) - 1e-9 <= min(smooth.degrees)
    assert max(smooth.degrees) <= max(curve.degrees) + 1e-9


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_smoothing_past_the_line_is_refused(share):
    with pytest.raises(TimingError, match="the share to smooth by must be"):
        smooth_nodes(KNEED, [1], share)


def test_a_ramp_lays_the_nodes_between_on_a_straight_line():
    # By hand: from 2 degrees at 1000 rpm to 22 at 3500, 8 degrees per 1000 rpm.
    assert ramp_between(KNEED, 1, 4).degrees == pytest.approx((0, 2, 5.2, 11.6, 22), abs=1e-12)


def test_a_ramp_between_neighbours_changes_nothing():
    assert ramp_between(KNEED, 2, 3) == KNEED


@pytest.mark.parametrize(("first", "last"), [(3, 1), (2, 2)])
def test_a_ramp_that_does_not_run_upwards_is_refused(first, last):
    with pytest.raises(CurveError, match=f"from a lower node to a higher one, not from {first} to {last}"):
        ramp_between(KNEED, first, last)


@pytest.mark.parametrize("node", [-1, 5])
def test_a_node_the_curve_does_not_have_is_refused(node):
    with pytest.raises(CurveError, match=f"nodes 0 to 4, there is no node {node}"):
        shift_nodes(KNEED, [node], 1)
    with pytest.raises(CurveError, match=f"there is no node {node}"):
        scale_nodes(KNEED, [0, node], 1)
    with pytest.raises(CurveError, match=f"there is no node {node}"):
        smooth_nodes(KNEED, [node])
    with pytest.raises(CurveError, match=f"there is no node {node}"):
        ramp_between(KNEED, 0, node)


def test_half_a_node_is_refused():
    with pytest.raises(TimingError, match=r"the number of a node must be a whole number, not 1\.5"):
        shift_nodes(KNEED, [1.5], 1)


@pytest.mark.parametrize("edit", [shift_nodes, scale_nodes])
def test_an_edit_of_nodes_by_no_number_or_beyond_all_measure_is_refused(edit):
    with pytest.raises(TimingError, match=r"^the (shift|factor) must be a finite number"):
        edit(KNEED, [1], float("nan"))
    with pytest.raises(TimingError, match="the advance of a node must be"):
        edit(KNEED, [2], 1e308)
