"""What a strobe session tells in figures: worked sets of the handbook, and statsmodels as a second judge."""

import dataclasses
import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from tests.timing.published import rows
from tests.timing.strobe.sessions import OLD, SWEEP, fine, fit_of, flat, readings_of, session, worked
from timing.curve import AdvanceCurve
from timing.strobe import StrobeError, VerdictKind, judge


class TestFigures:
    @pytest.mark.parametrize("row", rows("strobe_fit.csv"), ids=lambda row: row["set"])
    def test_the_worked_sets_come_out_as_printed(self, row):
        fit = worked(row["set"])
        half = (fit.sync_interval[1] - fit.sync_interval[0]) / 2
        lag_half = (fit.lag_interval[1] - fit.lag_interval[0]) / 2
        assert fit.sync_deg == pytest.approx(row["sync_deg"], abs=5e-7), "handbook 5, strobe_fit.csv"
        assert half == pytest.approx(row["ci95_sync"], abs=1e-6)
        assert fit.lag_us == pytest.approx(row["lag_us"], abs=1e-5)
        assert lag_half == pytest.approx(row["ci95_lag_us"], abs=1e-5)
        assert fit.scatter_deg == pytest.approx(row["residual_sd_deg"], abs=1e-6)
        assert fit.shape == pytest.approx(row["shape_coefficient"], abs=1e-6)
        shape_half = (fit.shape_interval[1] - fit.shape_interval[0]) / 2
        assert shape_half == pytest.approx(stats.t.ppf(0.975, fit.with_shape.df) * row["se_shape"], abs=3e-6)

    @pytest.mark.parametrize(
        ("rpm", "mean", "half"), [(800, 2.0320, 0.3836), (3000, 3.6088, 0.2582), (6000, 5.7590, 0.7926)]
    )
    def test_the_mean_at_a_speed_has_the_printed_interval(self, rpm, mean, half):
        found = worked("S1").mean_at(rpm)
        assert found.mean_deg == pytest.approx(mean, abs=5e-5), "handbook 5, set S1"
        assert found.half_width_deg == pytest.approx(half, abs=5e-5), "handbook 5, set S1"
        assert (found.low_deg + found.high_deg) / 2 == pytest.approx(mean, abs=5e-5)

    def test_the_mean_of_a_constant_error_has_the_printed_interval(self):
        fit = worked("S2")
        assert fit.mean_deg == pytest.approx(3.75), "handbook 5, set S2"
        assert fit.mean_interval[1] - 3.75 == pytest.approx(0.2234, abs=5e-5), "handbook 5, set S2"
        assert fit.mean_interval[0] - 3.75 == pytest.approx(-0.2234, abs=5e-5), "handbook 5, set S2"

    @pytest.mark.parametrize("row", [row for row in rows("strobe_design.csv") if row["readings"] >= 6])
    def test_the_half_width_to_be_expected_is_that_of_the_design_table(self, row):
        count = int(row["readings"])
        rpm = np.linspace(1000, 4000, count) if row["spacing"] == "even" else np.repeat([1000.0, 4000], count / 2)
        shape = flat(np.random.default_rng(1).normal(size=count), rpm)
        noise = 0.5 * shape / np.sqrt((shape**2).sum() / (count - 2))
        fit = session(noise=noise, rpm=rpm)
        assert fit.scatter_deg == pytest.approx(0.5)
        assert (fit.sync_interval[1] - fit.sync_interval[0]) / 2 == pytest.approx(row["ci_sync_deg"], abs=1e-4)
        assert (fit.lag_interval[1] - fit.lag_interval[0]) / 2 == pytest.approx(row["ci_lag_us"], abs=0.01)
        assert fit.mean_at(2500).half_width_deg == pytest.approx(row["ci_residual_at_2500_deg"], abs=1e-4)

    @given(st.integers(0, 2**32 - 1), st.integers(6, 16), st.sampled_from([0.9, 0.95, 0.99]))
    def test_every_figure_agrees_with_statsmodels(self, seed, count, confidence):
        chance = np.random.default_rng(seed)
        rpm = chance.uniform(800, 4500, count)
        assume(np.ptp(rpm) > 2000)
        measured, expected = chance.normal(20, 3, count), chance.normal(20, 3, count)
        old = chance.uniform(0, 20, count)
        fit = fit_of(rpm, measured, expected, old, limits=fine(confidence=confidence))
        columns = np.column_stack([np.ones(count), 6 * rpm, old])
        line = sm.OLS(expected - measured, columns[:, :2]).fit()
        shape = sm.OLS(expected - measured, columns).fit()
        assert (fit.sync_deg, fit.lag_us / 1e6) == pytest.approx(line.params, rel=1e-6)
        assert fit.sync_interval == pytest.approx(line.conf_int(1 - confidence)[0], rel=1e-6)
        assert np.array(fit.lag_interval) / 1e6 == pytest.approx(line.conf_int(1 - confidence)[1], rel=1e-6)
        assert fit.shape == pytest.approx(shape.params[2], rel=1e-6)
        assert fit.shape_interval == pytest.approx(shape.conf_int(1 - confidence)[2], rel=1e-6)

    @given(st.floats(-20, 20), st.floats(-300, 300))
    def test_what_was_put_in_is_found_again(self, sync, lag_us):
        fit = session(sync, lag_us)
        assert fit.sync_deg == pytest.approx(sync, abs=1e-9), "exact readings"
        assert fit.lag_us == pytest.approx(lag_us, abs=1e-5), "exact readings"
        assert fit.mean_at(3000).mean_deg == pytest.approx(sync + lag_us * 0.018, abs=1e-9), "18 000 degrees a second"

    @given(st.permutations(range(8)))
    def test_the_order_of_the_readings_does_not_matter(self, order):
        rpm, measured, expected = (np.array(values)[list(order)] for values in readings_of("S1"))
        fit = fit_of(rpm, measured, expected, OLD)
        assert fit.sync_deg == pytest.approx(1.458595, abs=5e-7), "handbook 5, set S1"
        assert fit.residuals == pytest.approx(expected - measured)
        assert judge(fit).kind is VerdictKind.LAG

    def test_a_spark_seen_late_is_positive(self):
        fit = fit_of([1000, 2000, 3000], [9, 9, 9], [10, 10, 10])
        assert fit.residuals == (1.0, 1.0, 1.0), "handbook 5: map minus measured"
        assert fit.rpm == (1000.0, 2000.0, 3000.0)

    def test_one_expected_figure_stands_for_all_readings(self):
        assert session(1.0) == fit_of(SWEEP, [19.0] * 8, [20.0] * 8)

    def test_an_old_curve_may_be_its_values_at_the_readings(self):
        rpm, measured, expected = readings_of("S3")
        assert fit_of(rpm, measured, expected, OLD.advance(rpm)) == worked("S3")

    def test_settings_may_be_named_or_in_their_places(self):
        rpm, measured, expected = readings_of("S2")
        named = fit_of(rpm=rpm, measured=measured, expected=expected, old_curve=OLD, tolerance=4.0)
        assert fit_of(rpm, measured, expected, OLD, 4.0) == named
        assert hash(named) == hash(fit_of(rpm, measured, expected, OLD, 4.0))
        assert named != worked("S2")

    def test_arguments_are_not_written_into(self):
        given_rpm, given_measured = SWEEP.copy(), np.full(8, 19.0)
        fit = fit_of(given_rpm, given_measured, 20)
        given_rpm[0] = 1.0
        assert fit.rpm[0] == 900.0
        assert (given_measured == 19.0).all()

    def test_a_fit_cannot_be_changed(self):
        with pytest.raises(dataclasses.FrozenInstanceError):
            session().tolerance = 2.0

    def test_the_mean_over_many_speeds_is_an_array_of_the_same_shape(self):
        found = worked("S1").mean_at([[800, 3000], [6000, 0]])
        assert np.shape(found.mean_deg) == (2, 2)
        assert found.mean_deg[0, 1] == worked("S1").mean_at(3000).mean_deg
        assert found.mean_deg[1, 1] == pytest.approx(worked("S1").sync_deg), "at standstill only the constant is left"
        assert isinstance(worked("S1").mean_at(800).mean_deg, float)
        assert isinstance(worked("S1").mean_at(800).half_width_deg, float)


class TestWhatCannotBeTold:
    def test_at_one_speed_there_is_a_mean_and_nothing_else(self):
        fit = fit_of([2000] * 4, [8, 9, 8, 9], 10)
        assert fit.mean_deg == 1.5
        # Standard deviation 1/sqrt(3), t(0.975, 3) = 3.182446 of the handbook's table, over sqrt(4).
        half = 3.182446 / math.sqrt(3) / 2
        assert fit.mean_interval == pytest.approx((1.5 - half, 1.5 + half), abs=1e-6)
        assert fit.scatter_deg == pytest.approx(1 / math.sqrt(3)), "by hand"
        assert (fit.sync_deg, fit.sync_interval) == (None, None)
        assert (fit.lag_us, fit.lag_interval) == (None, None)
        assert "one speed" in fit.lag_unknown
        assert judge(fit).kind is VerdictKind.MORE_READINGS

    def test_at_one_speed_the_mean_is_known_there_and_nowhere_else(self):
        fit = fit_of([2000, 2010, 2000], [8, 9, 8.5], 10)
        assert fit.at_one_speed
        assert fit.mean_at([1975, 2035]).mean_deg == pytest.approx([1.5, 1.5])
        assert fit.mean_at(2000).high_deg == pytest.approx(fit.mean_interval[1])
        with pytest.raises(StrobeError, match=r"^all readings are at 2000 rpm: nothing can be said about 1974 rpm"):
            fit.mean_at([1980, 1974])
        with pytest.raises(StrobeError, match=r"^all readings are at 2000 rpm: nothing can be said about 2036 rpm"):
            fit.mean_at(2036)

    @pytest.mark.parametrize(("rpm", "one"), [([2000, 2025, 2012], True), ([2000, 2026, 2012], False)])
    def test_speeds_within_the_limit_count_as_one(self, rpm, one):
        fit = fit_of(rpm, [9, 9, 9], 10)
        assert fit.at_one_speed is one
        assert (fit.sync_deg is None) is one

    def test_a_single_reading_gives_its_error_and_no_interval(self):
        fit = fit_of([900], [8], 10)
        assert (fit.mean_deg, fit.mean_interval, fit.scatter_deg, fit.outlier) == (2.0, None, None, None)
        assert judge(fit).kind is VerdictKind.MORE_READINGS
        with pytest.raises(StrobeError, match=r"^the mean error needs 2 readings or more, there are 1"):
            fit.mean_at(900)

    def test_two_speeds_give_a_line_only_from_three_readings_on(self):
        two = fit_of([900, 3000], [8, 8], 10)
        assert (two.sync_deg, two.lag_us, two.scatter_deg) == (None, None, None)
        with pytest.raises(StrobeError, match=r"^the mean error needs 3 readings or more, there are 2"):
            two.mean_at(900)
        three = fit_of([900, 3000, 3000], [8, 8, 8.5], 10)
        assert three.sync_interval[0] < three.sync_deg < three.sync_interval[1]

    @pytest.mark.parametrize(
        ("count", "span", "known"), [(5, 3000, False), (6, 3000, True), (6, 1500, True), (6, 1499, False)]
    )
    def test_a_lag_needs_six_readings_over_1500_rpm(self, count, span, known):
        fit = session(rpm=np.linspace(1000, 1000 + span, count), noise=np.linspace(0, 0.1, count))
        assert (fit.lag_us is not None) is known, "handbook 5; common practice, no source"
        assert (fit.lag_interval is not None) is known
        assert (fit.lag_unknown is None) is known
        assert fit.sync_deg is not None

    def test_why_there_is_no_lag_is_said_with_the_figures(self):
        assert session(rpm=np.array([900, 2000, 3000, 4000.0])).lag_unknown == (
            "a delay needs 6 readings or more, there are 4"
        )
        assert session(rpm=np.linspace(1000, 2200, 8)).lag_unknown == (
            "a delay needs readings 1500 rpm or more apart, these are 1200 rpm apart"
        )

    @pytest.mark.parametrize(
        ("old", "rpm", "why"),
        [
            (None, SWEEP, "old advance curve is not known"),
            (OLD, SWEEP[2:7], "needs 6 readings, there are 5"),
            (AdvanceCurve([500, 4500], [0, 20]), SWEEP, "too nearly a straight line"),
            (AdvanceCurve([500], [5]), SWEEP, "too nearly a straight line"),
            (AdvanceCurve([500], [0]), SWEEP, "too nearly a straight line"),
        ],
    )
    def test_a_free_mechanism_cannot_always_be_told_from_a_lag(self, old, rpm, why):
        fit = session(rpm=rpm, old_curve=old, lag_us=-300)
        assert (fit.shape, fit.shape_interval) == (None, None)
        assert why in fit.shape_unknown
        assert judge(fit).kind is not VerdictKind.MECHANISM_NOT_LOCKED
