"""Middle, quarters and shares of few and of many, against general libraries."""

import statistics

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from timing.errors import TimingError
from timing.spread import change_of, share_of, spread_of

FIGURES = st.lists(st.floats(-50, 50, allow_nan=False).map(lambda figure: round(figure, 3)), min_size=3, max_size=60)


@settings(max_examples=60)
@given(FIGURES)
def test_the_quarters_are_those_of_the_standard_library(figures):
    """`statistics.quantiles`, inclusive, is Python's own hand at the same definition."""
    spread = spread_of(figures)
    expected = statistics.quantiles(figures, n=4, method="inclusive")
    assert [spread.quarter, spread.median, spread.three_quarters] == pytest.approx(expected, abs=1e-9)
    assert (spread.lowest, spread.highest, spread.count) == (min(figures), max(figures), len(figures))


@settings(max_examples=60)
@given(FIGURES)
def test_the_likely_range_of_the_middle_is_that_of_the_exact_sign_test(figures):
    """scipy.stats.quantile_test: the interval by order statistics, without any distribution assumed."""
    ends = stats.quantile_test(figures, q=0, p=0.5).confidence_interval(confidence_level=0.95)
    likely = spread_of(figures).likely
    if likely is None:
        assert np.isnan([ends.low, ends.high]).any()
    else:
        assert likely == pytest.approx((ends.low, ends.high), abs=1e-12)


@pytest.mark.parametrize("count", range(3, 40))
def test_the_range_holds_the_middle_in_at_least_95_of_100_and_is_as_narrow_as_that_allows(count):
    """By the binomial distribution of scipy: figures 1 to n, so that a figure is its own rank."""
    likely = spread_of(range(1, count + 1)).likely
    if likely is None:
        assert 1 - 2 * stats.binom.cdf(0, count, 0.5) < 0.95
        return
    rank = round(likely[0])
    assert 1 - 2 * stats.binom.cdf(rank - 1, count, 0.5) >= 0.95
    assert 1 - 2 * stats.binom.cdf(rank, count, 0.5) < 0.95
    assert likely[1] == count + 1 - rank


def test_two_cars_are_summed_up_to_nothing():
    assert spread_of([10.0, 12.0]) is None
    assert spread_of([]) is None


def test_three_cars_say_their_spread_and_nothing_of_all_others():
    spread = spread_of([12.0, 8.0, 10.0])
    assert (spread.count, spread.lowest, spread.median, spread.highest) == (3, 8.0, 10.0, 12.0)
    assert spread.likely is None


@pytest.mark.parametrize("wrong", [[1.0, float("nan"), 2.0], [[1.0, 2.0], [3.0, 4.0]], 5.0])
def test_what_is_no_list_of_figures_is_refused(wrong):
    with pytest.raises(TimingError):
        spread_of(wrong)


@pytest.mark.parametrize(("count", "of"), [(0, 1), (1, 1), (0, 3), (1, 3), (3, 40), (11, 40), (40, 40), (7, 400)])
def test_a_share_has_the_range_of_wilson(count, of):
    """statsmodels.stats.proportion.proportion_confint, method 'wilson'."""
    share = share_of(count, of)
    assert (share.low, share.high) == pytest.approx(proportion_confint(count, of, 0.05, method="wilson"), abs=1e-12)


def test_a_share_of_no_cars_is_none():
    assert share_of(0, 0) is None


@pytest.mark.parametrize(("count", "of"), [(2, 1), (-1, 3), (0.5, 3)])
def test_a_share_of_more_than_there_are_is_refused(count, of):
    with pytest.raises(TimingError):
        share_of(count, of)


def test_less_and_more_are_told_apart_where_their_mean_would_say_nothing():
    """By hand: three times less, three times more, and a tenth that is the rounding of the unit."""
    change = change_of([-2.0, 2.0, 0.1, -3.0, 1.0, -1.0, 4.0])
    assert (change.of, change.less, change.more) == (7, (0, 3, 5), (1, 4, 6))
    assert (change.typical_less, change.typical_more) == (-2.0, 2.0)


@pytest.mark.parametrize("degrees", [[], [0.0, 0.1], [-2.0, -3.0], [2.0, 3.0]])
def test_below_three_changes_none_is_typical(degrees):
    change = change_of(degrees)
    assert (change.typical_less, change.typical_more) == (None, None)


def test_the_least_change_is_above_nought():
    with pytest.raises(TimingError):
        change_of([1.0], least=0.0)
