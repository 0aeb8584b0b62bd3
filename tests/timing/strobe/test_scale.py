"""Readings to the step of a scale: the likely range holds the truth in 95 of 100 sessions, whatever the scatter.

The judge is simulation: many sessions are made up with a known truth, and it is counted how often the range holds it.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from tests.timing.strobe.sessions import SWEEP, fine, fit_of
from timing.regression import least_squares
from timing.strobe import StrobeLimits, VerdictKind, judge, prove_base

SESSIONS = 8_000
# Three standard deviations of a share of 0.95 counted in so many sessions.
CHANCE = 3 * math.sqrt(0.95 * 0.05 / SESSIONS)
SCATTERS = [0, 0.05, 0.1, 0.2, 0.35, 0.5, 1.0]
STEPS = [1.0, 0.5, 0.1]
# How late the spark truly is: on a graduation, between two, and where rounding is about to tip. [degrees of crank]
OFFSETS = [0, 0.25, 0.4, 0.501, 0.55]
FLAT = np.full(8, 10.0)
CURVED = np.array([10.3, 12.1, 15.4, 20.7, 24.2, 26.9, 28.8, 29.2])
OLD_SHAPE = np.array([1, 4, 7, 12, 14, 16, 18, 18.0])


def shares_held(columns, truth, questions, *, expected, scatter, step, counted_step, seed):
    """How often the likely range of each question about a fit holds the truth."""
    chance = np.random.default_rng(seed)
    table = np.column_stack(columns)
    true = expected - table @ truth
    read = true + scatter * chance.standard_normal((SESSIONS, len(true)))
    late = expected - step * np.round(read / step)
    fit = least_squares(columns, late[0], step=counted_step)
    found = late @ np.array(fit.weights).T
    scatter_found = np.sqrt(((late - found @ table.T) ** 2).sum(axis=1) / fit.df)
    # The half width hangs on the scatter alone, and smoothly: worked out at some, read off between them.
    some = np.linspace(0, scatter_found.max() + 1e-9, 50)
    shares = []
    for question in questions:
        halves = [replace(fit, residual_sd=float(sd)).mean_at(*question).half_width for sd in some]
        off = np.abs((found - truth) @ np.array(question))
        shares.append((off <= np.interp(scatter_found, some, halves) + 1e-9).mean())
    return shares


@pytest.mark.parametrize("scatter", SCATTERS)
@pytest.mark.parametrize("step", STEPS)
class TestLikelyRange:
    @pytest.mark.parametrize("count", [2, 3, 4, 6, 8])
    def test_of_a_mean_holds_the_truth(self, count, step, scatter):
        for seed, offset in enumerate(OFFSETS):
            (held,) = shares_held(
                [np.ones(count)], np.array([offset]), [(1,)],
                expected=10.0, scatter=scatter, step=step, counted_step=step, seed=seed,
            )  # fmt: skip
            assert held >= 0.95 - CHANCE, f"simulation, {offset} degrees late"

    @pytest.mark.parametrize("expected", [FLAT, CURVED], ids=["flat", "curved"])
    @pytest.mark.parametrize("lag_us", [0, 30, 120])
    def test_of_a_line_holds_offset_delay_and_both_ends(self, lag_us, expected, step, scatter):
        questions = [(1, 0), (0, 1), (1, 0.9), (1, 4.0)]  # at standstill, per 1000 rpm, at 900 and at 4000 rpm
        for seed, offset in enumerate(OFFSETS):
            shares = shares_held(
                [np.ones(8), SWEEP / 1000], np.array([offset, 6e-3 * lag_us]), questions,
                expected=expected, scatter=scatter, step=step, counted_step=step, seed=seed,
            )  # fmt: skip
            assert min(shares) >= 0.95 - CHANCE, f"simulation, {offset} degrees late, {shares}"

    def test_of_a_line_read_at_its_ends_holds_both(self, step, scatter):
        rpm = np.array([900, 900, 900, 4000, 4000, 4000.0])
        for seed, offset in enumerate(OFFSETS):
            shares = shares_held(
                [np.ones(6), rpm / 1000], np.array([offset, 0.3]), [(1, 0), (0, 1), (1, 0.9), (1, 4.0)],
                expected=10.0, scatter=scatter, step=step, counted_step=step, seed=seed,
            )  # fmt: skip
            assert min(shares) >= 0.95 - CHANCE, f"simulation, {offset} degrees late, {shares}"

    def test_of_the_share_of_an_old_curve_holds_the_truth(self, step, scatter):
        for seed, offset in enumerate(OFFSETS):
            (held,) = shares_held(
                [np.ones(8), SWEEP / 1000, OLD_SHAPE], np.array([offset, 0.2, -0.3]), [(0, 0, 1)],
                expected=CURVED, scatter=scatter, step=step, counted_step=step, seed=seed,
            )  # fmt: skip
            assert held >= 0.95 - CHANCE, f"simulation, {offset} degrees late"


@pytest.mark.parametrize(("scatter", "at_most"), [(0.1, 0.35), (0.2, 0.65)])
def test_a_range_that_does_not_count_the_step_holds_the_truth_far_too_seldom(scatter, at_most):
    shares = [
        shares_held(
            [np.ones(6)], np.array([late]), [(1,)],
            expected=10.0, scatter=scatter, step=1, counted_step=0, seed=1,
        )[0]
        for late in np.linspace(-0.5, 0.5, 20, endpoint=False)
    ]  # fmt: skip
    assert np.mean(shares) < at_most, "six readings to whole degrees: what this counting is for"


@pytest.mark.parametrize("step", [1.0, 0.5])
def test_a_whole_session_holds_the_truth_too(step):
    # Not by the fit's parts, but as a session is judged: whole degrees, a sixth of a degree late and 40 microseconds.
    chance = np.random.default_rng(7)
    true = CURVED - 0.17 - 40e-6 * 6 * SWEEP
    held = np.zeros(3)
    for _ in range(400):
        read = step * np.round((true + chance.normal(0, 0.1, 8)) / step)
        fit = fit_of(SWEEP, read, CURVED, limits=StrobeLimits(scale_step_deg=step))
        low, high = fit.sync_interval
        lag_low, lag_high = fit.lag_interval
        at_top = fit.mean_at(4000)
        held += [low <= 0.17 <= high, lag_low <= 40 <= lag_high, at_top.low_deg <= 0.17 + 0.96 <= at_top.high_deg]
    assert (held >= 0.95 * 400).all(), "simulation"


class TestEqualReadings:
    def test_of_six_are_known_to_more_than_half_a_step(self):
        fit = fit_of([900, 1500, 2000, 2500, 3000, 4000], [9] * 6, 10, limits=StrobeLimits(scale_step_deg=1))
        # t(0.975, 5) = 2.570582 of the handbook's table, 1 / sqrt(12) for the rounding, and half a degree.
        half = math.hypot(2.570582 / math.sqrt(12 * 6), 0.5)
        assert fit.mean_interval == pytest.approx((1 - half, 1 + half), abs=1e-6)

    def test_that_are_all_whole_were_read_to_whole_degrees_whatever_the_scale_can_show(self):
        speeds = [900, 1500, 2000, 2500, 3000, 4000]
        assert fit_of(speeds, [9] * 6, 10, limits=StrobeLimits()).step_deg == 1, "half degrees are the default"
        assert fit_of(speeds, [9] * 5 + [9.5], 10, limits=StrobeLimits()).step_deg == 0.5
        assert fit_of(speeds, [9] * 6, 10, limits=StrobeLimits(scale_step_deg=2)).step_deg == 2
        assert fit_of(speeds, [9] * 6, 10, limits=StrobeLimits(scale_step_deg=0)).step_deg == 0
        whole = fit_of(speeds, [9, 9, 9, 9, 9, 9.5], 10, limits=StrobeLimits()).without(5)
        assert whole.step_deg == 0.5, "the scale is still that of the session"

    @pytest.mark.parametrize("scatter", [0.1, 0.2])
    def test_to_whole_degrees_hold_the_truth_by_the_default_limits(self, scatter):
        chance = np.random.default_rng(3)
        held = 0
        for late in np.linspace(-0.5, 0.5, 400):
            read = np.round(10 - late + chance.normal(0, scatter, 6))
            low, high = fit_of([900, 1500, 2000, 2500, 3000, 4000], read, 10, limits=StrobeLimits()).mean_interval
            held += low <= late <= high
        assert held >= 0.95 * 400, "simulation; 24 % and 57 % where the step is not counted"

    def test_on_a_scale_without_steps_are_known_exactly(self):
        assert fit_of([900, 2000, 4000] * 2, [9] * 6, 10).mean_interval == pytest.approx((1, 1))

    @pytest.mark.parametrize(("step", "proven"), [(0.5, True), (1.0, True), (2.0, False)])
    def test_prove_the_base_only_on_a_scale_fine_enough(self, step, proven):
        found = prove_base(
            rpm=[900, 900, 1800, 1800], measured=[10] * 4, base_deg=10, limits=StrobeLimits(scale_step_deg=step)
        )
        assert found.verdict.holds is proven

    def test_of_two_prove_nothing_for_their_scatter_is_not_known(self):
        found = prove_base(rpm=[900, 1800], measured=[9.5, 9.5], base_deg=9.5)
        half = math.hypot(stats.t.ppf(0.975, 1) * 0.5 / math.sqrt(12 * 2), 0.25)
        assert found.interval == pytest.approx((-half, half)), "scipy"
        assert found.verdict.kind is VerdictKind.MORE_READINGS

    def test_ask_for_a_finer_scale_where_no_number_of_them_would_do(self):
        kinds = [
            judge(fit_of(SWEEP, [10] * 8, 10, limits=fine(scale_step_deg=step, outlier_deg=9))).kind for step in (1, 2)
        ]
        assert kinds == [VerdictKind.WITHIN_TOLERANCE, VerdictKind.MORE_READINGS]


@pytest.mark.parametrize(("off", "found"), [(1, False), (2, True)])
def test_a_reading_one_graduation_off_is_no_outlier_and_one_two_off_is(off, found):
    measured = [10, 10, 10, 10 + off, 10, 10, 10, 10]
    assert (fit_of(SWEEP, measured, 10, limits=StrobeLimits(scale_step_deg=1)).outlier is not None) is found
