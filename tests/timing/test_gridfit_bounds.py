"""What a unit can hold and where a fitted curve may stand: bounds, bands, and refusals."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.grid_judges import (
    BAND,
    KNEED,
    KNEED_NODES,
    MID_LINE,
    MID_LINE_NODES,
    integer_programme,
    small_grids,
    small_targets,
    steps,
)
from timing.curve import AdvanceCurve, CurveError
from timing.errors import TimingError
from timing.grid import GridFitError
from timing.gridfit import GridFit, fit_free, fit_to


class TestWhatTheUnitHolds:
    @settings(max_examples=60)
    @given(small_targets(low=0, high=9), small_grids, st.sampled_from([0.1, 0.2, 0.25, 0.3, 0.7, 1, 2.5]))
    def test_every_value_is_the_step_counted_not_summed(self, target, nodes, step):
        fit = fit_to(target, nodes, step)
        for degrees in fit.curve.degrees:
            count = Fraction(str(degrees)) / Fraction(str(step))
            assert count.denominator == 1

    def test_a_step_may_be_a_figure_of_numpy_s(self):
        fit = fit_to(AdvanceCurve([500], [0.3]), [500], np.float64(0.1), np.int64(0), np.float32(40))
        assert fit.curve.degrees == (0.3,)

    def test_three_tenths_are_three_tenths(self):
        assert fit_to(AdvanceCurve([500], [0.3]), [500], 0.1).curve.degrees == (0.3,)

    def test_values_stay_between_the_limits_and_are_still_the_best(self):
        # By hand: the limit of 10 leaves 12 degrees missing at the top; at the lower nodes the squares decide.
        fit = fit_to(KNEED, KNEED_NODES, 1, high=10)
        assert (fit.worst_error, fit.at_rpm) == (12, 3500)
        assert fit.curve.degrees == (0, 2, 10, 10, 10)

    def test_a_lower_limit_lifts_the_curve(self):
        fit = fit_to(KNEED, KNEED_NODES, 1, low=4)
        assert (fit.worst_error, fit.at_rpm) == (4, 500)
        assert min(fit.curve.degrees) == 4

    def test_limits_that_are_no_multiples_are_never_passed(self):
        fit = fit_to(KNEED, KNEED_NODES, 1, low=0.5, high=21.9)
        assert (min(fit.curve.degrees), max(fit.curve.degrees)) == (1, 21)

    def test_limits_that_are_multiples_can_be_reached(self):
        # 60.3 is 603 steps of 0.1, though in floating point 60.3 / 0.1 is a little less.
        assert fit_to(AdvanceCurve([500], [70]), [500], 0.1, high=60.3).curve.degrees == (60.3,)
        assert fit_to(AdvanceCurve([500], [-70]), [500], 0.1, low=-60.3).curve.degrees == (-60.3,)

    def test_unless_told_otherwise_it_holds_nothing_below_zero_or_above_sixty(self):
        steep = AdvanceCurve([500, 6000], [-5, 70])
        assert fit_to(steep, [500, 6000], 1).curve.degrees == (0, 60)
        assert fit_free(steep, 2, [500, 6000], 1).curve.degrees == (0, 60)

    def test_a_unit_with_a_single_value_holds_that(self):
        fit = fit_to(KNEED, KNEED_NODES, 5, low=10, high=10)
        assert fit == GridFit(AdvanceCurve(KNEED_NODES, [10] * 5), 12.0, 3500.0)

    def test_one_node_is_held_over_all_speeds(self):
        # By hand: half way between 0 and 22.
        assert fit_to(KNEED, [2000], 1) == GridFit(AdvanceCurve([2000], [11]), 11.0, 500.0)

    def test_nodes_outside_the_wanted_curve_follow_its_held_ends(self):
        fit = fit_to(AdvanceCurve([1000, 2000], [5, 15]), [200, 1000, 2000, 3000], 1)
        assert fit == GridFit(AdvanceCurve([200, 1000, 2000, 3000], [5, 5, 15, 15]), 0.0, 200.0)

    def test_of_two_values_equally_good_the_retarded_one_is_taken(self):
        assert fit_to(AdvanceCurve([1000], [7.5]), [1000], 1).curve.degrees == (7,)


# --- staying below the curve, and inside a band ------------------------------------------------------------------


class TestStayingWithinBounds:
    @settings(max_examples=60)
    @given(small_targets(low=0), small_grids, steps)
    def test_never_above_holds_at_every_speed(self, target, nodes, step):
        fit = fit_to(target, nodes, step, -20, 20, never_above=True)
        speeds = np.linspace(0, 1200, 241)
        assert (fit.curve.advance(speeds) <= target.advance(speeds) + 1e-9).all()

    def test_a_band_whose_knee_lies_between_the_nodes_is_kept_at_the_knee(self):
        lower = AdvanceCurve([500, 1750, 3000], [0, 8, 10])
        fit = fit_to(AdvanceCurve([500, 3000], [0, 12]), [500, 3000], 1, within=(lower, lower.shift(12)))
        assert fit.curve.advance(1750) == pytest.approx(8, abs=1e-9)
        assert fit.curve.degrees == (2, 14)

    def test_the_edges_of_a_band_may_have_nodes_of_their_own(self):
        # By hand: 8 degrees half way between the nodes need 16 from both together, the target 12.
        wanted, lower = AdvanceCurve([500, 3000], [0, 12]), AdvanceCurve([500, 1750, 3000], [0, 8, 10])
        upper = AdvanceCurve([1000], [30])
        assert fit_to(wanted, [500, 3000], 1, within=(lower, upper)).curve.degrees == (2, 14)
        # The other way about: 4 degrees half way allow 8 from both together.
        upper = AdvanceCurve([500, 1750, 3000], [10, 4, 20])
        assert fit_to(wanted, [500, 3000], 1, within=(AdvanceCurve([9], [0]), upper)).curve.degrees == (0, 8)

    def test_the_band_does_not_count_in_a_tie(self):
        # The nodes of the band are no breakpoints of the fit: the same values with and without them.
        wide = (AdvanceCurve([600, 700, 900], [-9, -9, -9]), AdvanceCurve([650, 950], [99, 99]))
        for step in (0.1, 0.5, 1):
            assert fit_to(KNEED, KNEED_NODES, step, within=wide) == fit_to(KNEED, KNEED_NODES, step)

    def test_both_rules_may_be_asked_for_at_once(self):
        wider = (BAND[0].shift(-1), BAND[1])
        fit = fit_to(MID_LINE, MID_LINE_NODES, 0.5, within=wider, never_above=True)
        gap = MID_LINE.difference(fit.curve)
        assert min(gap.degrees) >= -1e-9
        assert min(fit.curve.difference(wider[0]).degrees) >= -1e-9
        expected = integer_programme(MID_LINE, MID_LINE_NODES, 0.5, never_above=True, within=wider)
        assert fit.worst_error == pytest.approx(expected, abs=1e-6)

    def test_a_free_fit_keeps_the_band_too(self):
        fit = fit_free(MID_LINE, 5, range(500, 5001, 250), 1, within=BAND)
        assert min(fit.curve.difference(BAND[0]).degrees) >= -1e-9
        assert min(BAND[1].difference(fit.curve).degrees) >= -1e-9

    @pytest.mark.parametrize(
        ("band", "sentence"),
        [
            (
                (AdvanceCurve([1000], [4.2]), AdvanceCurve([1000], [4.8])),
                r"inside the band at 500 rpm: that asks for 4\.2 to 4\.8 degrees, "
                "and the unit holds 0 to 60 degrees in steps of 1",
            ),
            (
                (AdvanceCurve([1000, 2000], [0, 70]), AdvanceCurve([1000, 2000], [10, 80])),
                "inside the band at 2000 rpm: that asks for 70 to 80 degrees",
            ),
            (
                (AdvanceCurve([500, 750, 1000], [0, 8, 0]), AdvanceCurve([500, 750, 1000], [2, 9, 2])),
                "inside the band all the way: it can be done from 1000 rpm upwards, but not from 500 rpm",
            ),
            (
                (AdvanceCurve([2000, 2500], [0, 20]), AdvanceCurve([2000, 2500], [10, 30])),
                "inside the band above its last node, where the value of that node is held",
            ),
            (
                (AdvanceCurve([200, 500], [0, 20]), AdvanceCurve([200, 500], [10, 30])),
                "inside the band below its first node, where the value of that node is held",
            ),
        ],
    )
    def test_a_band_that_cannot_be_kept_is_answered_with_where(self, band, sentence):
        with pytest.raises(GridFitError, match=f"^no setting of the unit keeps the curve {sentence}"):
            fit_to(band[0], [500, 1000, 2000], 1, within=band)

    def test_a_curve_below_everything_the_unit_holds_is_answered_with_where(self):
        with pytest.raises(GridFitError, match=r"^no setting of the unit keeps the curve at or below the target at 5"):
            fit_to(KNEED.shift(-1), KNEED_NODES, 1, never_above=True)

    def test_both_rules_are_named_where_neither_can_be_kept(self):
        with pytest.raises(GridFitError, match=r"^no setting of the unit keeps the curve inside the band and at or"):
            fit_to(MID_LINE, MID_LINE_NODES, 1, within=(BAND[0].shift(1), BAND[1]), never_above=True)

    def test_too_few_free_nodes_are_answered_with_how_far_they_reach(self):
        with pytest.raises(GridFitError, match="it can be done from 1500 rpm upwards, but not from 1000 rpm upwards"):
            fit_free(MID_LINE, 2, range(500, 5001, 500), 1, within=BAND)

    @pytest.mark.parametrize("upper", [2, 5.5])
    def test_a_band_upside_down_is_refused(self, upper):
        with pytest.raises(CurveError, match=f"^the band is upside down at 1200 rpm, from 6 up to {upper} degrees"):
            fit_to(
                MID_LINE,
                MID_LINE_NODES,
                1,
                within=(AdvanceCurve([800, 1200], [0, 6]), AdvanceCurve([800, 1200], [1, upper])),
            )

    def test_a_band_without_any_width_is_none_the_wrong_way_up(self):
        level = AdvanceCurve([1000], [6])
        assert fit_to(level, [500, 1000], 1, within=(level, level)).curve == AdvanceCurve([500, 1000], [6, 6])


# --- bad input ---------------------------------------------------------------------------------------------------


class TestRefusals:
    @pytest.mark.parametrize(
        ("grid", "sentence"),
        [
            ({"nodes": []}, "a curve needs at least one node"),
            ({"nodes": [500, 400]}, "the speeds of the nodes must rise, but 400 rpm comes after 500 rpm"),
            ({"nodes": [500, 500]}, "two nodes stand at 500 rpm"),
            ({"nodes": [500, float("nan")]}, "the speed of a node must be a finite number"),
            ({"nodes": "idle"}, "the speed of a node must be a number"),
            ({"nodes": 500}, "the speeds of the nodes must be a list"),
            ({"step": 0}, "the step must be above 0 degrees, not 0"),
            ({"step": -1}, "the step must be above 0 degrees, not -1"),
            ({"step": float("nan")}, "the step must be a finite number"),
            ({"step": "fine"}, "the step must be a number"),
            ({"step": [1, 2]}, "the step must be one number"),
            ({"step": 2e5}, r"the step must be 100000 degrees or less"),
            (
                {"low": 20, "high": 10},
                "the lowest value must not be above the highest: nothing lies between 20 and 10 degrees",
            ),
            ({"low": 0.2, "high": 0.8}, r"no multiple of the step of 1 lies between 0\.2 and 0\.8 degrees"),
            ({"low": -2e5}, r"the lowest value must be -100000 degrees or more"),
            ({"low": 2e5}, r"the lowest value must be 100000 degrees or less"),
            ({"high": 2e5}, r"the highest value must be 100000 degrees or less"),
            ({"high": -2e5}, r"the highest value must be -100000 degrees or more"),
            ({"low": float("nan")}, "the lowest value must be a finite number"),
            ({"high": float("inf")}, "the highest value must be a finite number"),
            ({"step": 1e-5}, "a step of 1e-05 is too fine for values between 0 and 60 degrees"),
            ({"step": 1e-5, "low": -60, "high": 0}, "a step of 1e-05 is too fine for values between -60 and 0 degrees"),
            (
                {"step": 5e-324, "low": 0, "high": 0},
                r"a step of 4\.94066e-324 is too fine for values between 0 and 0 degrees",
            ),
            (
                {"step": 1e-4, "low": -100, "high": 0.01},
                r"a step of 0\.0001 at 5 speeds is too much to search; take a coarser step or fewer speeds$",
            ),
            ({"nodes": range(500, 2501)}, "a step of 1 at 2001 speeds is too much to search"),
        ],
    )
    def test_a_grid_that_is_none_is_refused_with_a_sentence(self, grid, sentence):
        with pytest.raises(TimingError, match=sentence):
            fit_to(KNEED, **{"nodes": KNEED_NODES, "step": 1} | grid)

    @pytest.mark.parametrize(
        ("count", "sentence"),
        [
            (0, "the number of nodes must be 1 or more, not 0"),
            (2.5, r"the number of nodes must be a whole number, not 2\.5"),
            (6, "6 nodes cannot stand at 5 different speeds"),
        ],
    )
    def test_free_nodes_without_room_are_refused(self, count, sentence):
        with pytest.raises(TimingError, match=f"^{sentence}"):
            fit_free(KNEED, count, KNEED_NODES, 1)

    def test_a_target_is_a_curve(self):
        for fit in (lambda: fit_to([0, 5], [500, 1000], 1), lambda: fit_free([0, 5], 2, [500, 1000], 1)):
            with pytest.raises(TimingError, match=r"^the target must be an AdvanceCurve"):
                fit()

    def test_free_nodes_on_too_fine_a_raster_are_refused(self):
        with pytest.raises(GridFitError, match=r"^a step of 0\.1 at 601 speeds is too much to search"):
            fit_free(KNEED, 4, range(500, 6501, 10), 0.1)
