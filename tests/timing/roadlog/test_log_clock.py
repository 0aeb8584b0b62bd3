"""A logger's clock, its steady stretches, and the small picture of a long log: against numpy on whole arrays."""

import numpy as np
import pytest

from timing.roadlog import (
    RoadLogError,
    RoadLogSettings,
    check_clock,
    finest_within,
    pyramid,
    reaching_over,
    spread_ties,
    steady_stretches,
)


def test_a_clock_that_goes_on_evenly_has_nothing_odd():
    check = check_clock(np.arange(100) / 10)
    assert (check.backwards.size, check.twice.size, check.gaps.size, check.gap_s) == (0, 0, 0, 0.0)


def test_rows_that_run_backwards_are_those_earlier_than_any_before():
    check = check_clock([0.0, 1.0, 2.0, 1.5, 1.9, 2.0, 2.5])
    assert check.backwards.tolist() == [3, 4]
    assert check.twice.tolist() == [5]


def test_a_gap_counts_beyond_the_longest_that_is_kept():
    check = check_clock([0.0, 1.0, 6.0, 7.0, 17.0])
    assert check.gaps.tolist() == [1, 3]
    assert check.gap_s == pytest.approx((5 - 2) + (10 - 2))
    assert (check.jump_at, check.jump_s) == (3, 10.0)


def test_samples_of_one_second_are_spread_over_it():
    spread = spread_ties([0, 0, 1, 1, 1, 1, 5, 5])
    np.testing.assert_allclose(spread, [0, 0.5, 1, 1.5, 2, 2.5, 5, 5.75])
    assert (np.diff(spread) > 0).all()


def test_times_that_differ_stay_as_they_are():
    times = np.array([0.0, 0.1, 0.3])
    assert spread_ties(times) is not None
    np.testing.assert_array_equal(spread_ties(times), times)


def test_every_level_holds_the_lowest_and_highest_of_its_samples():
    rng = np.random.default_rng(4)
    t_s, columns = np.arange(70_001) / 10, rng.normal(size=(2, 70_001)).astype(np.float32)
    levels = pyramid(t_s, columns)
    assert [level.samples for level in levels] == [16, 64]
    for level in levels:
        whole = columns[:, : 70_001 // level.samples * level.samples].reshape(2, -1, level.samples)
        np.testing.assert_array_equal(level.low[:, : whole.shape[1]], whole.min(axis=2))
        np.testing.assert_array_equal(level.high[:, : whole.shape[1]], whole.max(axis=2))
        np.testing.assert_array_equal(level.t_s, t_s[:: level.samples])
        assert level.high[:, -1].tolist() == columns[:, (level.t_s.size - 1) * level.samples :].max(axis=1).tolist()


def test_a_figure_that_is_missing_hides_no_other():
    (level,) = pyramid(np.arange(16.0), [[np.nan] * 15 + [3.0]])
    assert (level.low[0, 0], level.high[0, 0]) == (3.0, 3.0)


def test_a_stretch_is_shown_by_the_finest_level_that_is_few_enough():
    levels = pyramid(np.arange(200_000) / 100, np.zeros((1, 200_000)))
    whole = finest_within(levels, from_s=0, to_s=2000, most=4000)
    near = finest_within(levels, from_s=1000, to_s=1100, most=4000)
    assert (levels[whole[0]].samples, levels[near[0]].samples) == (64, 16)
    spans = levels[near[0]].t_s[near[1]]
    assert spans[0] <= 1000
    assert spans[-1] >= 1100


def test_a_stretch_reaches_over_its_ends():
    assert reaching_over(np.arange(10.0), from_s=2.5, to_s=4.5) == slice(2, 6)
    assert reaching_over(np.arange(10.0), from_s=-5, to_s=50) == slice(0, 10)


def test_a_time_line_of_nothing_is_refused():
    with pytest.raises(RoadLogError, match="no time line"):
        finest_within((), from_s=0, to_s=1, most=1)
    with pytest.raises(RoadLogError, match="make no time line"):
        pyramid([], [[]])


def held(rpm, vacuum, seconds, rate=10):
    return np.full(seconds * rate, float(rpm)), np.full(seconds * rate, float(vacuum))


def test_a_stretch_held_long_enough_is_steady_and_says_where():
    parts = [held(2000, 30, 8), held(3000, 10, 4), held(2500, 40, 20)]
    rpm, vacuum = (np.concatenate(column) for column in zip(*parts, strict=True))
    first, second = steady_stretches(np.arange(rpm.size) / 10, rpm=rpm, vacuum=vacuum)
    assert (first.from_s, first.to_s, first.rpm, first.vacuum) == (0.0, 8.0, 2000.0, 30.0)
    assert (second.from_s, second.seconds, second.rpm) == (12.0, 20.0, 2500.0)


def test_what_wanders_slowly_ends_where_the_limit_is_reached():
    t_s = np.arange(1000) / 10
    found = steady_stretches(t_s, rpm=2000 + 10 * t_s, vacuum=np.full(1000, 30.0))
    assert found[0].seconds == pytest.approx(15.0, abs=1.0)
    assert all(one.seconds <= 16 for one in found)


@pytest.mark.parametrize("pause", [1.5, 4.0])
def test_a_short_pause_of_the_logger_is_bridged_and_a_long_one_ends_the_stretch(pause):
    t_s = np.concatenate([np.arange(60) / 10, 6 + pause + np.arange(60) / 10])
    found = steady_stretches(t_s, rpm=np.full(120, 2000.0), vacuum=np.full(120, 30.0))
    assert len(found) == (1 if pause < RoadLogSettings().longest_gap_s else 2)


def test_a_standing_engine_is_not_steady():
    assert steady_stretches(np.arange(100.0), rpm=np.zeros(100), vacuum=np.zeros(100)) == ()


def test_a_log_that_runs_backwards_has_no_stretches():
    with pytest.raises(RoadLogError, match="backwards"):
        steady_stretches([0.0, 2.0, 1.0], rpm=[900.0] * 3, vacuum=[40.0] * 3)
