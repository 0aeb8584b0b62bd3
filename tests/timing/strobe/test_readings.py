"""Readings of a strobe session that cannot be trusted, and those that cannot be."""

import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.strobe.sessions import OLD, fine, fit_of, flat, readings_of, session, worked
from timing.errors import TimingError
from timing.strobe import StrobeError, StrobeLimits, VerdictKind, judge


class TestOneOutlier:
    @pytest.mark.parametrize("place", range(8))
    def test_it_is_named_wherever_it_is(self, place):
        rpm, measured, expected = readings_of("S2")
        measured[place] -= 6
        fit = fit_of(rpm, measured, expected, OLD)
        assert fit.outlier.place == place
        assert fit.outlier.rpm == rpm[place]
        assert fit.outlier.off_deg == pytest.approx(6, abs=0.9), "six degrees, and its own scatter"
        assert judge(fit).kind is VerdictKind.OUTLIER
        assert judge(fit).turn_dist_deg is None

    def test_the_verdict_without_it_is_told(self):
        rpm, measured, expected = readings_of("S2")
        measured[3] += 6
        verdict = judge(fit_of(rpm, measured, expected, OLD))
        assert verdict.without_outlier.kind is VerdictKind.RESET
        assert verdict.without_outlier.turn_dist_deg == pytest.approx(1.875, abs=0.03), (
            "handbook 5, set S2, less one reading"
        )
        assert not verdict.holds
        assert verdict.figures[0].value < -5, "six degrees early"

    def test_it_is_never_left_out_of_the_figures_in_silence(self):
        rpm, measured, expected = readings_of("S2")
        measured[3] += 6
        fit = fit_of(rpm, measured, expected, OLD)
        line = sm.OLS(np.subtract(expected, measured), np.column_stack([np.ones(8), 6 * np.array(rpm)])).fit()
        assert fit.sync_deg == pytest.approx(line.params[0]), "statsmodels, all eight"
        assert len(fit.residuals) == 8

    def test_taking_it_away_is_the_fit_of_the_others(self):
        rpm, measured, expected = readings_of("S1")
        others = fit_of(rpm[1:], measured[1:], expected[1:], OLD, mark_error_deg=0.5, strokes=2)
        assert fit_of(rpm, measured, expected, OLD, mark_error_deg=0.5, strokes=2).without(0) == others

    def test_an_outlier_that_changes_nothing_is_still_named(self):
        rpm = np.linspace(900, 4000, 40)
        noise = flat(np.random.default_rng(5).normal(0, 0.2, 40), rpm)
        noise[20] += 1.5
        fit = session(sync=3, rpm=rpm, noise=noise)
        assert fit.outlier.place == 20
        assert judge(fit).kind is VerdictKind.RESET
        assert judge(fit).turn_dist_deg == judge(fit.without(20)).turn_dist_deg
        assert judge(fit).without_outlier == judge(fit.without(20))

    def test_a_session_with_an_outlier_does_not_open_the_gate(self):
        rpm = np.linspace(900, 4000, 40)
        noise = flat(np.random.default_rng(5).normal(0, 0.2, 40), rpm)
        noise[20] += 1.5
        verdict = judge(session(rpm=rpm, noise=noise))
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE
        assert not verdict.holds

    @pytest.mark.parametrize(("off", "found"), [(1.01, True), (0.99, False)])
    def test_a_reading_less_than_a_degree_off_is_never_an_outlier(self, off, found):
        noise = np.zeros(8)
        noise[3] = off
        assert (session(noise=noise).outlier is not None) is found
        assert session(noise=noise, limits=fine(outlier_deg=0.5)).outlier is not None

    def test_the_limit_is_shared_out_over_all_readings(self):
        # Judged by statsmodels' outlier test: Bonferroni, externally studentised.
        rpm, measured, expected = readings_of("S2")
        for extra in np.arange(0.0, 3.0, 0.1):
            changed = [value - extra * (place == 4) for place, value in enumerate(measured)]
            fit = fit_of(rpm, changed, expected, OLD, limits=fine(outlier_deg=0))
            line = sm.OLS(np.subtract(expected, changed), np.column_stack([np.ones(8), 6 * np.array(rpm)])).fit()
            bonferroni = np.asarray(line.outlier_test())[:, 2]
            assert (fit.outlier is not None) == (bonferroni.min() < 0.05), f"statsmodels, {extra} degrees"

    @given(st.integers(0, 2**32 - 1))
    def test_ordinary_scatter_seldom_makes_one(self, seed):
        chance = np.random.default_rng(seed)
        found = [session(noise=chance.normal(0, 0.7, 8)).outlier is not None for _ in range(20)]
        assert sum(found) <= 8, "one in twenty by the limit; eight or more of twenty by chance is 1 in 30 000"

    def test_a_reading_that_another_at_its_speed_bears_out_is_none(self):
        # A vacuum pipe left on lifts the two readings at 1500 rpm alike: the line is wrong there, and not the readings.
        rpm = [900, 900, 900, 900, 1500, 1500, 2500, 3000, 4000, 4000, 4000, 4000]
        late = np.array([0, 0.1, 0, 0.1, -3, -3.1, 0, 0.1, 0, 0.1, 0, 0.1])
        line = sm.OLS(late, sm.add_constant(np.array(rpm, dtype=float))).fit()
        fit = fit_of(rpm, 20 - late, 20, limits=fine(outlier_chance=0.5))
        assert np.asarray(line.outlier_test())[:, 2].min() < 0.5, "statsmodels would call it one"
        assert fit.outlier is None
        alone = fit_of(rpm[:5] + rpm[6:], 20 - np.delete(late, 5), 20, limits=fine(outlier_chance=0.5))
        assert alone.outlier.place == 4

    def test_at_one_speed_an_outlier_is_found_too(self):
        fit = fit_of([2000] * 6, [9, 9.2, 8.9, 9.1, 15, 9], 10)
        assert fit.outlier.place == 4
        assert fit.outlier.off_deg == pytest.approx(-(15 - 9.04)), "against the mean of the others"
        assert judge(fit).kind is VerdictKind.MORE_READINGS

    @pytest.mark.parametrize(
        ("place", "message"),
        [
            (8, "there is no reading number 8, only 8 readings"),
            (-1, "the number of a reading must be 0"),
            (1.5, "the number of a reading must be a whole number"),
        ],
    )
    def test_a_reading_that_is_not_there_cannot_be_taken_away(self, place, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            session().without(place)

    def test_the_only_reading_cannot_be_taken_away(self):
        with pytest.raises(StrobeError, match=r"^without its only reading"):
            fit_of([900], [9], 10).without(0)


class TestBadInput:
    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            (([900, 1200], [10], 10), "2 speeds but 1 measured advances"),
            (([900, 1200], [10, 10], [10, 10, 10]), "2 speeds but 3 expected advances"),
            (([900, 1200], [10, 10], 10, [1, 2, 3]), "2 speeds but 3 old advances"),
            (([], [], 10), "there are no readings"),
            ((900, 10, 10), "readings must be a list of speeds and a list"),
            (([[900, 1200]], [[10, 10]], 10), "readings must be a list of speeds and a list"),
            (([900, math.nan], [10, 10], 10), "a speed must be a finite number"),
            (([900, 1200], [10, math.nan], 10), "a measured advance must be a finite number"),
            (([900, 1200], [10, 10], math.inf), "an expected advance must be a finite number"),
            (([900, 1200], [10, 10], 10, [1, math.nan]), "an old advance must be a finite number"),
            (([900, -1200], [10, 10], 10), "a speed must be above 0 rpm, not -1200"),
            (([900, 0], [10, 10], 10), "a speed must be above 0 rpm, not 0"),
            (([900, 90000], [10, 10], 10), "a speed must be 30000 rpm or less, not 90000"),
            (([900, 1200], [10, 270], 10), "a measured advance must be 180 degrees or less, not 270"),
            (([900, 1200], [10, -270], 10), "a measured advance must be -180 degrees or more, not -270"),
            (([900, 1200], ["ten", 10], 10), "a measured advance must be a number"),
            (([900, 1200], [10, 10], 10, None, 0), "the tolerance must be above 0 degrees, not 0"),
            (([900, 1200], [10, 10], 10, None, math.nan), "the tolerance must be a finite number"),
        ],
    )
    def test_what_is_no_reading_is_refused_with_its_figure(self, arguments, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            fit_of(*arguments)

    @pytest.mark.parametrize(
        ("options", "message"),
        [
            ({"strokes": 3}, "an engine has two strokes or four, not 3"),
            ({"mark_error_deg": math.nan}, "the error of the timing mark must be a finite number"),
            ({"mark_error_deg": 200}, "the error of the timing mark must be 180 degrees or less, not 200"),
        ],
    )
    def test_settings_without_sense_are_refused(self, options, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            fit_of([900], [10], 10, **options)

    @pytest.mark.parametrize(
        ("limit", "value", "message"),
        [
            ("confidence", 1.0, "the limit confidence must be below 1, not 1"),
            ("confidence", 0, "the limit confidence must be above 0, not 0"),
            ("outlier_chance", 1.5, "the limit outlier_chance must be below 1, not 1.5"),
            ("least_readings", 2, "the limit least_readings must be 3 or more, not 2"),
            ("least_lag_readings", 2.5, "the limit least_lag_readings must be 3 or more"),
            ("least_shape_readings", 3, "the limit least_shape_readings must be 4 or more, not 3"),
            ("least_span_rpm", -1, "the limit least_span_rpm must be 0 or more"),
            ("lag_us", -1, "the limit lag_us must be 0 or more"),
            ("scatter_deg", 0, "the limit scatter_deg must be above 0"),
            ("same_speed_rpm", 0.5, "the limit same_speed_rpm must be 1 or more"),
            ("outlier_deg", -1, "the limit outlier_deg must be 0 or more"),
            ("shape_share", math.nan, "the limit shape_share must be a finite number"),
        ],
    )
    def test_limits_that_mean_nothing_are_refused(self, limit, value, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            StrobeLimits(**{limit: value})

    def test_the_defaults_are_those_of_the_handbook(self):
        limits = StrobeLimits()
        assert (limits.confidence, limits.least_readings, limits.least_span_rpm) == (0.95, 4, 1500), "handbook 5"
        assert (limits.least_lag_readings, limits.least_shape_readings) == (6, 6), "handbook 5"
        assert (limits.lag_us, limits.scatter_deg, limits.repeat_deg, limits.mark_deg) == (50, 1, 2, 1), "handbook 5"
        assert (limits.shape_share, limits.shape_condition) == (0.25, 1e3), "handbook 5"

    def test_a_negative_speed_has_no_mean(self):
        with pytest.raises(TimingError, match=r"^engine speed must be 0 rpm or more, not -5"):
            worked("S1").mean_at(-5)
