"""The speed curve: read off, edited, compared. Fitting it to a unit is tested in test_gridfit.py."""

import copy
import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import make_interp_spline

from tests.timing.worked_curves import KNEED, MID_LINE, curves
from timing.curve import AdvanceCurve, CurveError
from timing.errors import TimingError

SPEEDS = np.linspace(0, 8000, 1601)


class TestReadingOff:
    @pytest.mark.parametrize(
        ("rpm", "expected", "source"),
        [
            (500.0, 0.0, "handbook 4, case A0"),
            (1000.0, 2.0, "handbook 4, case A0"),
            (1500.0, 9.75, "handbook 4, case A0"),
            (2500.0, 16.615384615, "handbook 4, case A0: 16.615"),
            (3500.0, 22.0, "handbook 4, case A0"),
            (0.0, 0.0, "below the first node its value is held, by definition"),
            (9000.0, 22.0, "above the last node its value is held, by definition"),
        ],
    )
    def test_it_is_straight_between_nodes_and_held_outside_them(self, rpm, expected, source):
        assert KNEED.advance(rpm) == pytest.approx(expected, abs=1e-9), source

    @given(curves())
    def test_it_is_numpys_interpolation(self, curve):
        assert np.array_equal(curve.advance(SPEEDS), np.interp(SPEEDS, curve.rpm, curve.degrees))

    def test_it_is_scipys_linear_spline_within_its_nodes(self):
        inside = np.linspace(500, 3500, 777)
        spline = make_interp_spline(KNEED.rpm, KNEED.degrees, k=1)
        assert KNEED.advance(inside) == pytest.approx(spline(inside), abs=1e-9)

    def test_a_single_speed_gives_a_float_and_an_array_its_own_shape(self):
        assert type(KNEED.advance(1500)) is float
        assert type(KNEED.advance(np.float32(1500))) is float
        table = KNEED.advance([[500, 1000], [1400, 2200]])
        assert table.dtype == np.float64
        assert table.tolist() == [[0, 2], [9, 15]]

    def test_no_speeds_give_no_advances(self):
        assert KNEED.advance([]).shape == (0,)

    def test_a_single_node_is_a_flat_curve(self):
        flat = AdvanceCurve([800], [10])
        assert flat.advance([0, 800, 6000]).tolist() == [10, 10, 10]
        assert flat.slope().shape == (0,)

    @pytest.mark.parametrize(
        ("rpm", "sentence"),
        [
            (-1, "engine speed must be 0 rpm or more, not -1"),
            ([500, float("nan")], "engine speed must be a finite number"),
            (float("inf"), "engine speed must be a finite number"),
            ("fast", "engine speed must be a number"),
        ],
    )
    def test_a_speed_that_is_none_is_refused(self, rpm, sentence):
        with pytest.raises(TimingError, match=sentence):
            KNEED.advance(rpm)

    def test_slope_is_in_degrees_per_thousand_rpm_one_for_each_stretch(self):
        # By hand: 2/500, 7/400, 6/800 and 7/1300 degrees per rpm.
        assert KNEED.slope() == pytest.approx([4.0, 17.5, 7.5, 7000 / 1300], rel=1e-12)


class TestWhatACurveMayBe:
    @pytest.mark.parametrize(
        ("rpm", "degrees", "sentence"),
        [
            ([], [], "a curve needs at least one node"),
            ([500, 1000], [0], "a curve needs one advance for each speed, not 1 for 2"),
            ([500], [0, 1, 2], "a curve needs one advance for each speed, not 3 for 1"),
            ([500, 1500, 1000], [0, 1, 2], "the speeds of the nodes must rise, but 1000 rpm comes after 1500 rpm"),
            ([500, 1000, 1000], [0, 1, 2], "two nodes stand at 1000 rpm; each speed may be named once"),
            ([-100, 500], [0, 1], "the speed of a node must be 0 rpm or more, not -100"),
            ([500, float("nan")], [0, 1], "the speed of a node must be a finite number"),
            ([500, float("inf")], [0, 1], "the speed of a node must be a finite number"),
            ([500, 1000], [0, float("nan")], "the advance of a node must be a finite number"),
            (["idle"], [0], "the speed of a node must be a number"),
            ([500], ["ten"], "the advance of a node must be a number"),
            ([500], [1e5 + 1], "the advance of a node must be 100000 degrees or less, not 100001"),
            ([500], [-1e5 - 1], "the advance of a node must be -100000 degrees or more, not -100001"),
            (500, 10, "the speeds of the nodes must be a list"),
            ([[500, 1000]], [[0, 1]], "the speeds of the nodes must be a list"),
            ([500, 1000], [[0, 1]], "a curve needs one advance for each speed, not 2 for 2"),
            ([0, 5e-324], [0, 1], "the curve is too steep above 0 rpm to be calculated with"),
        ],
    )
    def test_nonsense_is_refused_with_a_sentence(self, rpm, degrees, sentence):
        with pytest.raises(TimingError, match=f"^{sentence}$"):
            AdvanceCurve(rpm, degrees)

    def test_the_refusal_is_a_value_error(self):
        assert issubclass(CurveError, ValueError)

    def test_a_node_at_rest_and_an_advance_after_top_dead_centre_are_allowed(self):
        assert AdvanceCurve([0, 1000], [-4, 6]).advance(500) == pytest.approx(1.0)

    def test_the_largest_advance_still_accepted_is_a_hundred_thousand_degrees(self):
        assert AdvanceCurve([0, 1], [1e5, -1e5]).degrees == (1e5, -1e5)

    def test_it_cannot_be_changed(self):
        with pytest.raises(dataclasses.FrozenInstanceError):
            KNEED.rpm = (1.0,)
        with pytest.raises(TypeError):
            KNEED.degrees[0] = 5.0

    def test_it_does_not_follow_the_array_it_was_made_from(self):
        degrees = np.array([0.0, 10.0])
        curve = AdvanceCurve([500, 1000], degrees)
        degrees[1] = 50.0
        assert curve.degrees == (0.0, 10.0)

    def test_curves_with_the_same_nodes_are_equal_and_hash_alike(self):
        twin = AdvanceCurve(np.array(KNEED.rpm), list(KNEED.degrees))
        assert twin == KNEED
        assert len({twin, KNEED}) == 1
        assert twin != KNEED.shift(1)
        assert twin != AdvanceCurve([500, 1000, 1400, 2200, 3501], KNEED.degrees)

    def test_it_survives_copying_and_replacing(self):
        assert copy.deepcopy(KNEED) == KNEED
        assert dataclasses.replace(KNEED, degrees=[1, 3, 10, 16, 23]) == KNEED.shift(1)


class TestEditing:
    def test_shift_moves_every_node(self):
        assert KNEED.shift(-2.5).degrees == (-2.5, -0.5, 6.5, 12.5, 19.5)
        assert KNEED.shift(-2.5).rpm == KNEED.rpm

    def test_a_shift_by_no_number_is_refused(self):
        with pytest.raises(TimingError, match=r"^the shift must be a finite number"):
            KNEED.shift(float("nan"))
        with pytest.raises(TimingError, match=r"^the shift must be one number"):
            KNEED.shift([1, 2])

    def test_a_shift_beyond_all_measure_is_refused(self):
        with pytest.raises(TimingError, match=r"^the advance of a node must be"):
            KNEED.shift(1e308)

    @given(curves(), st.floats(-60, 60))
    def test_shift_holds_between_the_nodes_too(self, curve, degrees):
        assert curve.shift(degrees).advance(SPEEDS) == pytest.approx(curve.advance(SPEEDS) + degrees, abs=1e-9)

    def test_blend_of_a_quarter_by_hand(self):
        # 1200 rpm: 0.75 * 5.5 + 0.25 * 4 = 5.125; the other curve's own nodes are in it.
        mixed = KNEED.blend(MID_LINE, 0.25)
        assert mixed.advance(1200) == pytest.approx(5.125, abs=1e-12)
        assert mixed.rpm == (500, 800, 1000, 1200, 1400, 1800, 2200, 3000, 3500, 4500)

    @given(curves(), curves(), st.floats(0, 1))
    def test_blend_is_exact_at_every_speed(self, one, other, share):
        expected = (1 - share) * one.advance(SPEEDS) + share * other.advance(SPEEDS)
        assert one.blend(other, share).advance(SPEEDS) == pytest.approx(expected, abs=1e-9)

    def test_blend_runs_from_this_curve_to_the_other(self):
        assert KNEED.blend(MID_LINE, 0).largest_difference(KNEED).degrees == 0
        assert KNEED.blend(MID_LINE, 1).largest_difference(MID_LINE).degrees == 0

    @pytest.mark.parametrize("share", [-0.01, 1.01, float("nan")])
    def test_blend_by_more_than_all_or_less_than_nothing_is_refused(self, share):
        with pytest.raises(TimingError, match=r"^the share of the other curve must be"):
            KNEED.blend(MID_LINE, share)


class TestComparing:
    def test_difference_is_this_curve_minus_the_other_and_may_be_negative(self):
        gap = MID_LINE.difference(KNEED)
        # By hand: 4 - 5.5 at 1200 rpm, 0.5 - 1.2 at 800 rpm, 24 - 22 at 4500 rpm.
        assert gap.advance([1200, 800, 4500]) == pytest.approx([-1.5, -0.7, 2.0], abs=1e-12)

    @given(curves(), curves())
    def test_difference_is_exact_at_every_speed(self, one, other):
        expected = one.advance(SPEEDS) - other.advance(SPEEDS)
        assert one.difference(other).advance(SPEEDS) == pytest.approx(expected, abs=1e-9)

    def test_largest_difference_keeps_its_sign_and_says_where(self):
        # By hand: at the knee of 1400 rpm the curve has 9, the chord from 1000 to 2200 rpm 2 + 13/3.
        chord = AdvanceCurve([500, 1000, 2200, 3500], [0, 2, 15, 22])
        degrees, at_rpm = chord.largest_difference(KNEED)
        assert degrees == pytest.approx(-8 / 3, abs=1e-12)
        assert at_rpm == 1400
        assert KNEED.largest_difference(chord).degrees == pytest.approx(8 / 3, abs=1e-12)

    def test_largest_difference_names_the_lowest_of_several_speeds(self):
        assert KNEED.largest_difference(KNEED.shift(1)) == (-1.0, 500.0)

    @given(curves(), curves())
    def test_no_sample_shows_a_larger_difference(self, one, other):
        degrees, at_rpm = one.largest_difference(other)
        sampled = np.abs(one.advance(SPEEDS) - other.advance(SPEEDS))
        assert sampled.max() <= abs(degrees) + 1e-9
        assert one.advance(at_rpm) - other.advance(at_rpm) == pytest.approx(degrees, abs=1e-9)
