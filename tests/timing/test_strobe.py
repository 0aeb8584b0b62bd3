"""Strobe sessions: worked sets of the handbook, statsmodels as a second judge, and the order of the rules."""

import dataclasses
import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.timing.published import rows
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.strobe import StrobeError, StrobeLimits, VerdictKind, fit_readings

# The old mechanism of the handbook's worked sets: crank degrees over crank rpm.
OLD = AdvanceCurve([800, 2000, 3500], [0, 12, 18])
SWEEP = np.array([900, 1200, 1500, 2000, 2500, 3000, 3500, 4000.0])
# Eight deviations that sum to nothing and have no slope over SWEEP, so that a made-up line is found exactly.
NOISE = np.array([1, -1, -1, 1, 1, -1, -1, 1.0])


def readings_of(name):
    chosen = [row for row in rows("strobe_readings.csv") if row["set"] == name]
    return [[row[column] for row in chosen] for column in ("rpm", "measured_deg", "map_deg")]


def worked(name, **settings):
    return fit_readings(*readings_of(name), OLD, **settings)


def flat(noise, rpm=SWEEP):
    """`noise` without the part that looks like a constant or a lag."""
    columns = np.column_stack([np.ones_like(rpm), rpm])
    return noise - columns @ np.linalg.lstsq(columns, noise, rcond=None)[0]


def session(sync=0.0, lag_us=0.0, noise=0.0, free=0.0, rpm=SWEEP, old_curve=None, **settings):
    """A session in which the spark is late by just that much."""
    late = sync + lag_us * 1e-6 * 6 * rpm - free * OLD.advance(rpm) + noise
    return fit_readings(rpm, 20 - late, 20, old_curve, **settings)


class TestFigures:
    @pytest.mark.parametrize("row", rows("strobe_fit.csv"), ids=lambda row: row["set"])
    def test_the_worked_sets_come_out_as_printed(self, row):
        fit = worked(row["set"])
        half = (fit.sync_interval[1] - fit.sync_interval[0]) / 2
        lag_half = (fit.lag_interval[1] - fit.lag_interval[0]) / 2
        assert fit.sync_deg == pytest.approx(row["sync_deg"], abs=5e-7), "handbook 5, strobe_fit.csv"
        assert fit.sync_se == pytest.approx(row["se_sync"], abs=1e-6)
        assert half == pytest.approx(row["ci95_sync"], abs=1e-6)
        assert fit.lag_us == pytest.approx(row["lag_us"], abs=1e-5)
        assert fit.lag_se == pytest.approx(row["se_lag_us"], abs=1e-5)
        assert lag_half == pytest.approx(row["ci95_lag_us"], abs=1e-5)
        assert fit.scatter_deg == pytest.approx(row["residual_sd_deg"], abs=1e-6)
        assert fit.shape == pytest.approx(row["shape_coefficient"], abs=1e-6)
        assert fit.shape_se == pytest.approx(row["se_shape"], abs=1e-6)
        assert fit.shape_t == pytest.approx(row["t_shape"], abs=1e-4)

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
        fit = fit_readings(rpm, measured, expected, old, limits=StrobeLimits(confidence=confidence))
        columns = np.column_stack([np.ones(count), 6 * rpm, old])
        line = sm.OLS(expected - measured, columns[:, :2]).fit()
        shape = sm.OLS(expected - measured, columns).fit()
        assert (fit.sync_deg, fit.lag_us / 1e6) == pytest.approx(line.params, rel=1e-6)
        assert (fit.sync_se, fit.lag_se / 1e6) == pytest.approx(line.bse, rel=1e-6)
        assert fit.sync_interval == pytest.approx(line.conf_int(1 - confidence)[0], rel=1e-6)
        assert np.array(fit.lag_interval) / 1e6 == pytest.approx(line.conf_int(1 - confidence)[1], rel=1e-6)
        assert (fit.shape, fit.shape_se) == pytest.approx((shape.params[2], shape.bse[2]), rel=1e-6)
        assert fit.shape_t == pytest.approx(shape.tvalues[2], rel=1e-6)
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
        fit = fit_readings(rpm, measured, expected, OLD)
        assert fit.sync_deg == pytest.approx(1.458595, abs=5e-7), "handbook 5, set S1"
        assert fit.residuals == pytest.approx(expected - measured)
        assert fit.verdict.kind is VerdictKind.LAG

    def test_a_spark_seen_late_is_positive(self):
        fit = fit_readings([1000, 2000, 3000], [9, 9, 9], [10, 10, 10])
        assert fit.residuals == (1.0, 1.0, 1.0), "handbook 5: map minus measured"
        assert fit.rpm == (1000.0, 2000.0, 3000.0)

    def test_one_expected_figure_stands_for_all_readings(self):
        assert session(1.0) == fit_readings(SWEEP, [19.0] * 8, [20.0] * 8)

    def test_an_old_curve_may_be_its_values_at_the_readings(self):
        rpm, measured, expected = readings_of("S3")
        assert fit_readings(rpm, measured, expected, OLD.advance(rpm)) == worked("S3")

    def test_settings_may_be_named_or_in_their_places(self):
        rpm, measured, expected = readings_of("S2")
        named = fit_readings(rpm=rpm, measured=measured, expected=expected, old_curve=OLD, tolerance=4.0)
        assert fit_readings(rpm, measured, expected, OLD, 4.0) == named
        assert hash(named) == hash(fit_readings(rpm, measured, expected, OLD, 4.0))
        assert named != worked("S2")

    def test_arguments_are_not_written_into(self):
        given_rpm, given_measured = SWEEP.copy(), np.full(8, 19.0)
        fit = fit_readings(given_rpm, given_measured, 20)
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
        fit = fit_readings([2000] * 4, [8, 9, 8, 9], 10)
        assert fit.mean_deg == 1.5
        # Standard deviation 1/sqrt(3), t(0.975, 3) = 3.182446 of the handbook's table, over sqrt(4).
        half = 3.182446 / math.sqrt(3) / 2
        assert fit.mean_interval == pytest.approx((1.5 - half, 1.5 + half), abs=1e-6)
        assert fit.scatter_deg == pytest.approx(1 / math.sqrt(3)), "by hand"
        assert (fit.sync_deg, fit.sync_se, fit.sync_interval) == (None, None, None)
        assert (fit.lag_us, fit.lag_se, fit.lag_interval) == (None, None, None)
        assert "one speed" in fit.lag_unknown
        assert fit.verdict.kind is VerdictKind.MORE_READINGS
        assert "cannot tell a constant error from one that grows with speed" in fit.verdict.sentence

    def test_at_one_speed_the_mean_is_known_there_and_nowhere_else(self):
        fit = fit_readings([2000, 2010, 2000], [8, 9, 8.5], 10)
        assert fit.at_one_speed
        assert fit.mean_at([1975, 2035]).mean_deg == pytest.approx([1.5, 1.5])
        assert fit.mean_at(2000).high_deg == pytest.approx(fit.mean_interval[1])
        with pytest.raises(StrobeError, match="all readings are at 2000 rpm: nothing can be said about 1974 rpm"):
            fit.mean_at([1980, 1974])
        with pytest.raises(StrobeError, match="nothing can be said about 2036 rpm"):
            fit.mean_at(2036)

    @pytest.mark.parametrize(("rpm", "one"), [([2000, 2025, 2012], True), ([2000, 2026, 2012], False)])
    def test_speeds_within_the_limit_count_as_one(self, rpm, one):
        fit = fit_readings(rpm, [9, 9, 9], 10)
        assert fit.at_one_speed is one
        assert (fit.sync_deg is None) is one

    def test_a_single_reading_gives_its_error_and_no_interval(self):
        fit = fit_readings([900], [8], 10)
        assert (fit.mean_deg, fit.mean_interval, fit.scatter_deg, fit.wild) == (2.0, None, None, None)
        assert fit.verdict.kind is VerdictKind.MORE_READINGS
        assert "1 reading at one speed" in fit.verdict.sentence
        assert "2.0° late;" in fit.verdict.sentence
        with pytest.raises(StrobeError, match="needs 2 readings or more, there are 1"):
            fit.mean_at(900)

    def test_two_speeds_give_a_line_only_from_three_readings_on(self):
        two = fit_readings([900, 3000], [8, 8], 10)
        assert (two.sync_deg, two.lag_us, two.scatter_deg) == (None, None, None)
        with pytest.raises(StrobeError, match="needs 3 readings or more, there are 2"):
            two.mean_at(900)
        three = fit_readings([900, 3000, 3000], [8, 8, 8.5], 10)
        assert three.sync_interval[0] < three.sync_deg < three.sync_interval[1]

    @pytest.mark.parametrize(
        ("count", "span", "known"), [(5, 3000, False), (6, 3000, True), (6, 1500, True), (6, 1499, False)]
    )
    def test_a_lag_needs_six_readings_over_1500_rpm(self, count, span, known):
        fit = session(rpm=np.linspace(1000, 1000 + span, count), noise=np.linspace(0, 0.1, count))
        assert (fit.lag_us is not None) is known, "handbook 5; common practice, no source"
        assert (fit.lag_se is not None) is known
        assert (fit.lag_interval is not None) is known
        assert (fit.lag_unknown is None) is known
        assert fit.sync_deg is not None

    def test_why_there_is_no_lag_is_said_with_the_figures(self):
        assert session(rpm=np.array([900, 2000, 3000, 4000.0])).lag_unknown == (
            "a lag needs 6 readings or more, there are 4"
        )
        assert session(rpm=np.linspace(1000, 2200, 8)).lag_unknown == (
            "a lag needs readings 1500 rpm or more apart, these are 1200 rpm apart"
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
        assert (fit.shape, fit.shape_se, fit.shape_t, fit.shape_interval) == (None, None, None, None)
        assert why in fit.shape_unknown
        assert fit.verdict.kind is not VerdictKind.MECHANISM_NOT_LOCKED

    def test_without_the_old_curve_a_spark_that_comes_earlier_with_speed_speaks_for_the_lock_first(self):
        verdict = session(lag_us=-300, noise=flat(0.1 * NOISE)).verdict
        assert verdict.kind is VerdictKind.LAG
        assert "check the lock first" in verdict.sentence
        assert "the old advance curve is not known" in verdict.sentence
        assert "seen earlier as the speed rises, by 300 µs" in verdict.sentence
        with_curve = session(lag_us=-300, noise=flat(0.1 * NOISE), old_curve=OLD).verdict
        assert with_curve.kind is VerdictKind.LAG
        assert "lock" not in with_curve.sentence


class TestOrderOfRules:
    @pytest.mark.parametrize(
        ("name", "kind"),
        [
            ("S1", VerdictKind.LAG),
            ("S2", VerdictKind.RESET),
            ("S3", VerdictKind.MECHANISM_NOT_LOCKED),
        ],
    )
    def test_the_worked_sets_get_the_verdict_of_the_handbook(self, name, kind):
        assert worked(name).verdict.kind is kind, "handbook 5"

    def test_after_a_lag_the_distributor_is_turned_by_the_rest(self):
        verdict = worked("S1").verdict
        assert verdict.turn_deg is None
        assert verdict.then.kind is VerdictKind.RESET, "handbook 5: lag, then re-set"
        assert verdict.then.turn_deg == pytest.approx(1.458595 / 2, abs=1e-6), "handbook 5: half the sync"
        assert "by 119 µs (85 to 154)" in verdict.sentence, "handbook 5: 119.46 +- 34.57"
        assert "4.3° late at 4000 rpm" in verdict.sentence
        assert "enter it in the unit" in verdict.sentence
        assert "0.7 distributor degrees in the advancing direction, against the turn" in verdict.then.sentence
        assert "Apart from the lag" in verdict.then.sentence
        assert verdict.figures[0].value == pytest.approx(119.4556, abs=1e-4)
        assert verdict.figures[0].unit == "µs"
        assert verdict.figures[1].value == pytest.approx(1.458595, abs=1e-6)

    def test_a_constant_error_is_turned_away_by_the_mean(self):
        verdict = worked("S2").verdict
        assert verdict.turn_deg == pytest.approx(1.875), "handbook 5: constant model, 3.75, at half the crank's angle"
        assert str(verdict) == verdict.sentence
        assert "1.9 distributor degrees in the advancing direction" in verdict.sentence
        assert "clamp it and read again" in verdict.sentence
        assert "3.8° late (3.5 to 4.0° late)" in verdict.sentence
        assert verdict.figures[0].interval == pytest.approx((3.5266, 3.9734), abs=1e-4)

    def test_a_two_stroke_distributor_is_turned_by_the_whole_error(self):
        assert worked("S2", strokes=2).verdict.turn_deg == pytest.approx(3.75), "it turns at the crank's speed"

    def test_an_early_spark_is_turned_back(self):
        verdict = session(sync=-3).verdict
        assert verdict.turn_deg == pytest.approx(-1.5), "by hand"
        assert "3.0° early" in verdict.sentence
        assert "1.5 distributor degrees in the retarding direction, with the turn of the rotor" in verdict.sentence

    def test_a_free_mechanism_says_how_free_and_forbids_turning(self):
        verdict = worked("S3").verdict
        assert "108 % of the old centrifugal advance" in verdict.sentence, "handbook 5, k = -1.081"
        assert "do not turn the distributor" in verdict.sentence
        assert verdict.turn_deg is None
        assert verdict.figures[0].value == pytest.approx(-1.080955, abs=1e-6)

    @pytest.mark.parametrize(("free", "locked"), [(1.0, False), (0.26, False), (0.24, True), (0.0, True), (-1.0, True)])
    def test_a_quarter_of_the_old_curve_betrays_the_lock(self, free, locked):
        verdict = session(free=free, old_curve=OLD).verdict
        assert (verdict.kind is not VerdictKind.MECHANISM_NOT_LOCKED) is locked, "handbook 5, rule 2"

    def test_a_share_of_the_old_curve_within_the_noise_proves_nothing(self):
        loud = session(free=0.3, noise=flat(3 * NOISE), old_curve=OLD)
        assert abs(loud.shape_t) < 2
        assert loud.verdict.kind is VerdictKind.SCATTER_OR_MARK

    @pytest.mark.parametrize(("count", "few"), [(3, True), (4, False)])
    def test_fewer_than_four_readings_are_too_few(self, count, few):
        verdict = session(rpm=np.linspace(900, 4000, count)).verdict
        assert (verdict.kind is VerdictKind.MORE_READINGS) is few, "handbook 5, rule 1"
        assert ("3 readings are too few" in verdict.sentence) is few

    @pytest.mark.parametrize(("span", "close"), [(1499, True), (1500, False)])
    def test_readings_within_1500_rpm_are_too_close(self, span, close):
        verdict = session(rpm=np.linspace(900, 900 + span, 8)).verdict
        assert (verdict.kind is VerdictKind.MORE_READINGS) is close, "handbook 5, rule 1"
        assert ("8 readings within 1499 rpm are too close together" in verdict.sentence) is close

    def test_too_few_readings_still_show_their_mean(self):
        verdict = fit_readings([900, 1200, 1500, 1800], [8, 8, 9, 9], 10).verdict
        assert "on average the spark is 1.5° late (0.6 to 2.4° late)" in verdict.sentence
        assert verdict.figures[0].value == 1.5

    @pytest.mark.parametrize(("scatter", "worn"), [(1.001, True), (0.999, False)])
    def test_scatter_beyond_a_degree_speaks_for_drive_or_mark(self, scatter, worn):
        shape = flat(NOISE)
        noise = scatter * shape / math.sqrt((shape**2).sum() / 6)
        fit = session(noise=noise, tolerance=3)
        assert fit.scatter_deg == pytest.approx(scatter)
        assert (fit.verdict.kind is VerdictKind.SCATTER_OR_MARK) is worn, "handbook 5, rule 3"
        assert ("scatter by 1.0° about any line, 1.0° is the limit" in fit.verdict.sentence) is worn
        assert ("mechanism that still moves cannot be ruled out" in fit.verdict.sentence) is worn

    @pytest.mark.parametrize(
        ("second_rpm", "apart", "worn"),
        [(2500, 2.001, True), (2525, 2.001, True), (2526, 2.5, False), (2500, 2, False)],
    )
    def test_readings_two_degrees_apart_at_one_speed_speak_for_drive_or_mark(self, second_rpm, apart, worn):
        rpm = np.append(np.repeat([900, 4000.0], 8), [2500, second_rpm])
        noise = np.append(np.zeros(16), [apart / 2, -apart / 2])
        verdict = session(rpm=rpm, noise=noise, limits=StrobeLimits(wild_deg=90)).verdict
        assert (verdict.kind is VerdictKind.SCATTER_OR_MARK) is worn, "handbook 5, rule 3"
        if worn:
            assert "rpm are 2.0° apart, 2.0° is the limit" in verdict.sentence

    @pytest.mark.parametrize(("error", "wrong"), [(1.001, True), (-1.001, True), (1.0, False), (-1.0, False)])
    def test_a_mark_off_the_piston_stop_comes_before_any_turning(self, error, wrong):
        verdict = session(sync=3, mark_error_deg=error).verdict
        assert (verdict.kind is VerdictKind.SCATTER_OR_MARK) is wrong, "handbook 5, rule 3; 11, item 11"
        assert ("the timing mark is 1.0° off the piston stop" in verdict.sentence) is wrong
        assert ("damper ring" in verdict.sentence) is wrong

    @pytest.mark.parametrize(("factor", "known"), [(1.001, False), (0.999, True)])
    def test_a_mean_not_known_to_the_tolerance_asks_for_more_readings(self, factor, known):
        rpm = np.array([900, 2000, 3000, 4000.0])
        fit = session(rpm=rpm, noise=flat(np.array([0.2, -0.2, -0.2, 0.2]), rpm))
        half = max(fit.mean_at(900).half_width_deg, fit.mean_at(4000).half_width_deg)
        fit = dataclasses.replace(fit, tolerance=half / factor)
        assert (fit.verdict.kind is VerdictKind.MORE_READINGS) is not known, "handbook 5, rule 4"
        assert (f"known only to ±{half:.1f}°" in fit.verdict.sentence) is not known

    def test_how_many_readings_should_do_follows_from_their_scatter(self):
        rpm = np.array([900, 2000, 3000, 4000.0])
        shape = flat(np.array([1, -1, -1, 1.0]), rpm)
        noise = 0.96 * shape / math.sqrt((shape**2).sum() / 2)
        # Half of n at each end: t s sqrt(2 / n), t of the handbook for 6 and for 8 degrees of freedom.
        assert 2.446912 * 0.96 * math.sqrt(2 / 8) > 1 > 2.306004 * 0.96 * math.sqrt(2 / 10)
        assert "about 10 in all should do" in session(rpm=rpm, noise=noise).verdict.sentence

    def test_a_hopeless_scatter_is_not_answered_with_a_thousand_readings(self):
        rpm = np.array([900, 2000, 3000, 4000.0])
        wide = StrobeLimits(scatter_deg=90)
        verdict = session(rpm=rpm, noise=8 * np.array([1, -1, 1, -1.0]), limits=wide).verdict
        assert verdict.kind is VerdictKind.MORE_READINGS
        assert "look for the cause of the scatter first" in verdict.sentence

    @pytest.mark.parametrize(("lag_us", "lagging"), [(51, True), (-51, True), (49, False), (-49, False), (0, False)])
    def test_a_lag_surely_beyond_50_us_is_called_one(self, lag_us, lagging):
        verdict = session(lag_us=lag_us, sync=2, noise=flat(1e-3 * NOISE)).verdict
        assert (verdict.kind is VerdictKind.LAG) is lagging, "handbook 5, rule 5"
        assert lagging or verdict.kind is VerdictKind.RESET

    def test_a_lag_that_may_be_less_is_not_called_one(self):
        fit = session(lag_us=70, noise=flat(0.25 * NOISE))
        assert fit.lag_interval[0] < 50 < fit.lag_interval[1]
        assert session(lag_us=70, sync=-0.9, noise=flat(0.25 * NOISE)).verdict.kind is VerdictKind.WITHIN_TOLERANCE

    def test_a_real_lag_that_carries_the_highest_speed_out_of_tolerance_is_called_one(self):
        # 70 us are 1.7 degrees at 4000 rpm: the constant part alone being small does not make that right.
        fit = session(lag_us=70, noise=flat(0.25 * NOISE))
        assert abs(fit.sync_deg) < 1 < fit.mean_at(4000).mean_deg
        assert fit.verdict.kind is VerdictKind.LAG
        assert fit.verdict.then.kind is VerdictKind.WITHIN_TOLERANCE
        assert "Apart from the lag the timing is within tolerance" in fit.verdict.then.sentence

    def test_a_change_with_speed_seen_in_too_few_readings_asks_for_more(self):
        rpm = np.array([900, 2000, 3000, 4000.0])
        verdict = session(lag_us=300, rpm=rpm, noise=flat(np.array([1, -1, -1, 1]) * 0.05, rpm)).verdict
        assert verdict.kind is VerdictKind.MORE_READINGS
        assert "the error changes with speed, but a lag needs 6 readings or more, there are 4" in verdict.sentence

    @pytest.mark.parametrize(("sync", "kind"), [(1.001, "reset"), (-1.001, "reset"), (0.999, "within_tolerance")])
    def test_a_constant_error_beyond_the_tolerance_is_turned_away(self, sync, kind):
        verdict = session(sync=sync, noise=flat(0.1 * NOISE)).verdict
        assert verdict.kind == kind, "handbook 5, rule 6"
        assert verdict.holds is (kind == "within_tolerance")

    @pytest.mark.parametrize("sync", [1.0, -1.0])
    @pytest.mark.parametrize("count", range(4, 13))
    def test_readings_that_meet_the_tolerance_to_the_degree_are_within_it(self, count, sync):
        verdict = session(sync=sync, rpm=np.linspace(900, 4000, count)).verdict
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE, "handbook 5, rule 6: beyond the tolerance, not at it"
        assert "lean" not in verdict.sentence

    def test_a_lag_of_which_half_a_microsecond_is_sure_may_carry_the_timing_out(self):
        fit = session(lag_us=46, noise=flat(0.28597434784141634 * NOISE))
        assert fit.lag_interval == pytest.approx((0.5, 91.5)), "by root finding, scipy brentq"
        assert fit.mean_at(4000).mean_deg == pytest.approx(46e-6 * 24000), "by hand: 1.1 degrees"
        assert fit.verdict.kind is VerdictKind.LAG

    def test_the_line_decides_where_the_lag_is_real_and_the_mean_where_it_is_not(self):
        real = session(sync=2, lag_us=30, noise=flat(0.02 * NOISE))
        assert real.lag_interval[0] > 0
        assert real.verdict.turn_deg == pytest.approx(1.0), "handbook 5, rule 6: the line's sync, 2 degrees"
        early = session(sync=2, lag_us=-30, noise=flat(0.02 * NOISE))
        assert early.lag_interval[1] < 0
        assert early.verdict.turn_deg == pytest.approx(1.0), "the same with the lag the other way"
        unsure = session(sync=2, lag_us=10, noise=flat(0.5 * NOISE))
        assert unsure.lag_interval[0] < 0
        assert unsure.verdict.turn_deg == pytest.approx(unsure.mean_deg / 2), "handbook 5, rule 6: the constant model"

    def test_within_tolerance_says_how_far_off_and_where(self):
        constant = session(sync=0.4, noise=flat(0.1 * NOISE)).verdict
        assert "on average the spark is 0.4° late (0.3 to 0.5° late) from 900 to 4000 rpm" in constant.sentence
        assert "1.0° is allowed; leave the distributor as it is" in constant.sentence
        sloping = session(sync=-0.2, lag_us=30, noise=flat(0.02 * NOISE)).verdict
        assert "at worst 0.5° late" in sloping.sentence, "by hand: -0.2 + 30e-6 * 24000 = 0.52 at 4000 rpm"
        assert "at 4000 rpm" in sloping.sentence
        assert "between 0.1° early and 0.1° late" in session(noise=flat(0.15 * NOISE)).verdict.sentence
        assert "on its mark" in session(noise=flat(0.15 * NOISE)).verdict.sentence

    @pytest.mark.parametrize(
        ("verdict", "figures"),
        [
            (
                lambda: worked("S1").verdict,
                [("lag", 119.45555, "µs"), ("error that is the same at every speed", 1.4586, "degrees")],
            ),
            (lambda: worked("S1").verdict.then, [("error that is the same at every speed", 1.4586, "degrees")]),
            (lambda: worked("S2").verdict, [("error that is the same at every speed", 3.75, "degrees")]),
            (
                lambda: worked("S3").verdict,
                [("share of the old curve", -1.081, ""), ("share over its standard error", -13.6157, "")],
            ),
            (
                lambda: fit_readings(*readings_of("S3"), mark_error_deg=-1.5).verdict,
                [("scatter", 2.1825, "degrees"), ("timing mark against piston stop", -1.5, "degrees")],
            ),
            (
                lambda: fit_readings([900, 900, 4000, 4000] * 3, [9, 11.1, 10, 10] * 3, 10).verdict,
                [("difference at one speed", 2.1, "degrees")],
            ),
            (lambda: fit_readings([900], [8], 10).verdict, [("mean error", 2.0, "degrees")]),
            (
                # Four alternating readings: t(0.975, 2) = 4.302653 of the handbook's table, s = 1.
                lambda: (
                    session(
                        rpm=np.array([900, 900, 4000, 4000.0]), noise=math.sqrt(0.5) * np.array([1, -1, 1, -1])
                    ).verdict
                ),
                [("half width of the mean", 4.302653 * math.sqrt(0.5), "degrees")],
            ),
            (
                lambda: (
                    session(
                        lag_us=300,
                        rpm=np.array([900, 2000, 3000, 4000.0]),
                        noise=flat(np.array([0.05, -0.05, -0.05, 0.05]), np.array([900, 2000, 3000, 4000.0])),
                    ).verdict
                ),
                # The mean of the speeds is 2475 rpm.
                [("mean error", 300e-6 * 6 * 2475, "degrees")],
            ),
            (
                lambda: session(lag_us=100, noise=flat(0.1 * NOISE)).verdict.then,
                [("error that is the same at every speed", 0.0, "degrees")],
            ),
            (
                lambda: fit_readings([2000] * 6, [9, 9.2, 8.9, 9.1, 15, 9], 10).verdict,
                [("the odd reading against the line of the others", -5.96, "degrees"), ("mean error", 0.96, "degrees")],
            ),
            (
                lambda: worked("S2", tolerance=4).verdict,
                [
                    ("error that is the same at every speed", 3.75, "degrees"),
                    # 3.564106 and 13.32572 microseconds at 24 000 degrees a second, from the handbook's table.
                    ("worst mean", 3.8839, "degrees"),
                ],
            ),
        ],
    )
    def test_a_verdict_names_the_figures_it_rests_on(self, verdict, figures):
        found = [(figure.what, figure.value, figure.unit) for figure in verdict().figures]
        assert [(what, pytest.approx(value, abs=5e-5), unit) for what, value, unit in figures] == found, "handbook 5"

    def test_a_lean_that_scatter_may_explain_is_told_and_not_acted_on(self):
        fit = session(lag_us=60, noise=flat(0.5 * NOISE))
        assert fit.lag_interval[0] < 0 < fit.mean_at(4000).mean_deg - 1
        verdict = fit.verdict
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE, "handbook 5, rule 6: the constant model"
        assert "The readings lean to 1.4° late at 4000 rpm, which their scatter may explain" in verdict.sentence
        assert verdict.figures[1].value == pytest.approx(60e-6 * 24000), "by hand: 1.44 degrees"
        assert verdict.figures[1].interval[0] < 1.44 < verdict.figures[1].interval[1]

    @given(st.integers(0, 2**32 - 1), st.integers(1, 12), st.floats(0, 4), st.floats(-8, 8), st.floats(-300, 300))
    def test_every_session_gets_a_verdict_without_a_nan(self, seed, count, scatter, sync, lag_us):
        chance = np.random.default_rng(seed)
        rpm = np.round(chance.uniform(600, 5000, count), -2)
        fit = session(sync, lag_us, rpm=rpm, noise=np.round(chance.normal(0, scatter, count)), old_curve=OLD)
        verdict = fit.verdict
        assert "nan" not in verdict.sentence
        for figure in verdict.figures:
            assert math.isfinite(figure.value)
        for value in (fit.sync_deg, fit.lag_us, fit.scatter_deg, fit.shape):
            assert value is None or math.isfinite(value)
        assert (verdict.turn_deg is not None) is (verdict.kind is VerdictKind.RESET)


def test_kinds_of_verdict_are_words_that_may_be_stored():
    assert [kind.value for kind in VerdictKind] == [
        "more_readings",
        "mechanism_not_locked",
        "scatter_or_mark",
        "lag",
        "reset",
        "within_tolerance",
        "wild_reading",
        "curve_not_flat",
    ]


class TestOneWildReading:
    @pytest.mark.parametrize("place", range(8))
    def test_it_is_named_wherever_it_is(self, place):
        rpm, measured, expected = readings_of("S2")
        measured[place] -= 6
        fit = fit_readings(rpm, measured, expected, OLD)
        assert fit.wild.place == place
        assert fit.wild.rpm == rpm[place]
        assert fit.wild.off_deg == pytest.approx(6, abs=0.9), "six degrees, and its own scatter"
        assert fit.verdict.kind is VerdictKind.WILD_READING
        assert fit.verdict.sentence.startswith(f"Reading {place + 1} ({rpm[place]:.0f} rpm) is ")
        assert "late against the line of the others: take it again before anything" in fit.verdict.sentence
        assert fit.verdict.turn_deg is None

    def test_the_verdict_without_it_is_told(self):
        rpm, measured, expected = readings_of("S2")
        measured[3] += 6
        verdict = fit_readings(rpm, measured, expected, OLD).verdict
        assert verdict.without_wild.kind is VerdictKind.RESET
        assert verdict.without_wild.turn_deg == pytest.approx(1.875, abs=0.03), "handbook 5, set S2, less one reading"
        assert f"Without it: {verdict.without_wild.sentence}" in verdict.sentence
        assert verdict.with_wild.kind is VerdictKind.SCATTER_OR_MARK
        assert f"If it comes out the same: {verdict.with_wild.sentence}" in verdict.sentence
        assert not verdict.holds
        assert verdict.figures[0].value < -5, "six degrees early"

    def test_it_is_never_left_out_of_the_figures_in_silence(self):
        rpm, measured, expected = readings_of("S2")
        measured[3] += 6
        fit = fit_readings(rpm, measured, expected, OLD)
        line = sm.OLS(np.subtract(expected, measured), np.column_stack([np.ones(8), 6 * np.array(rpm)])).fit()
        assert fit.sync_deg == pytest.approx(line.params[0]), "statsmodels, all eight"
        assert len(fit.residuals) == 8

    def test_taking_it_away_is_the_fit_of_the_others(self):
        rpm, measured, expected = readings_of("S1")
        others = fit_readings(rpm[1:], measured[1:], expected[1:], OLD, mark_error_deg=0.5, strokes=2)
        assert fit_readings(rpm, measured, expected, OLD, mark_error_deg=0.5, strokes=2).without(0) == others

    def test_a_wild_reading_that_changes_nothing_is_still_named(self):
        rpm = np.linspace(900, 4000, 40)
        noise = flat(np.random.default_rng(5).normal(0, 0.2, 40), rpm)
        noise[20] += 1.5
        fit = session(sync=3, rpm=rpm, noise=noise)
        assert fit.wild.place == 20
        assert fit.verdict.kind is VerdictKind.RESET
        assert "Reading 21 (2490 rpm)" in fit.verdict.sentence
        assert "left out of this: take it again" in fit.verdict.sentence
        assert fit.verdict.turn_deg == fit.without(20).verdict.turn_deg
        assert fit.verdict.without_wild == fit.without(20).verdict

    def test_a_session_with_a_wild_reading_does_not_open_the_gate(self):
        rpm = np.linspace(900, 4000, 40)
        noise = flat(np.random.default_rng(5).normal(0, 0.2, 40), rpm)
        noise[20] += 1.5
        verdict = session(rpm=rpm, noise=noise).verdict
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE
        assert not verdict.holds

    @pytest.mark.parametrize(("off", "wild"), [(1.01, True), (0.99, False)])
    def test_a_reading_less_than_a_degree_off_is_never_wild(self, off, wild):
        noise = np.zeros(8)
        noise[3] = off
        assert (session(noise=noise).wild is not None) is wild
        assert session(noise=noise, limits=StrobeLimits(wild_deg=0.5)).wild is not None

    def test_the_limit_is_shared_out_over_all_readings(self):
        # Judged by statsmodels' outlier test: Bonferroni, externally studentised.
        rpm, measured, expected = readings_of("S2")
        for extra in np.arange(0.0, 3.0, 0.1):
            changed = [value - extra * (place == 4) for place, value in enumerate(measured)]
            fit = fit_readings(rpm, changed, expected, OLD, limits=StrobeLimits(wild_deg=0))
            line = sm.OLS(np.subtract(expected, changed), np.column_stack([np.ones(8), 6 * np.array(rpm)])).fit()
            bonferroni = np.asarray(line.outlier_test())[:, 2]
            assert (fit.wild is not None) == (bonferroni.min() < 0.05), f"statsmodels, {extra} degrees"

    @given(st.integers(0, 2**32 - 1))
    def test_ordinary_scatter_seldom_makes_one(self, seed):
        chance = np.random.default_rng(seed)
        found = [session(noise=chance.normal(0, 0.7, 8)).wild is not None for _ in range(20)]
        assert sum(found) <= 8, "one in twenty by the limit; eight or more of twenty by chance is 1 in 30 000"

    def test_at_one_speed_a_wild_reading_is_found_too(self):
        fit = fit_readings([2000] * 6, [9, 9.2, 8.9, 9.1, 15, 9], 10)
        assert fit.wild.place == 4
        assert fit.wild.off_deg == pytest.approx(-(15 - 9.04)), "against the mean of the others"
        assert fit.verdict.kind is VerdictKind.MORE_READINGS
        assert "Reading 5 (2000 rpm)" in fit.verdict.sentence

    @pytest.mark.parametrize(
        ("place", "message"),
        [
            (8, "no reading number 8, only 8 readings"),
            (-1, "the number of a reading must be 0"),
            (1.5, "the number of a reading must be a whole number"),
        ],
    )
    def test_a_reading_that_is_not_there_cannot_be_taken_away(self, place, message):
        with pytest.raises(TimingError, match=message):
            session().without(place)

    def test_the_only_reading_cannot_be_taken_away(self):
        with pytest.raises(StrobeError, match="without its only reading"):
            fit_readings([900], [9], 10).without(0)


class TestBadInput:
    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            (([900, 1200], [10], 10), "2 speeds but 1 measured advances"),
            (([900, 1200], [10, 10], [10, 10, 10]), "2 speeds but 3 expected advances"),
            (([900, 1200], [10, 10], 10, [1, 2, 3]), "2 speeds but 3 old advances"),
            (([], [], 10), "there are no readings"),
            ((900, 10, 10), "must be a list of speeds and a list"),
            (([[900, 1200]], [[10, 10]], 10), "must be a list of speeds and a list"),
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
        with pytest.raises(TimingError, match=message):
            fit_readings(*arguments)

    @pytest.mark.parametrize(
        ("options", "message"),
        [
            ({"strokes": 3}, "two strokes or four, not 3"),
            ({"mark_error_deg": math.nan}, "the error of the timing mark must be a finite number"),
            ({"mark_error_deg": 200}, "180 degrees or less, not 200"),
        ],
    )
    def test_settings_without_sense_are_refused(self, options, message):
        with pytest.raises(TimingError, match=message):
            fit_readings([900], [10], 10, **options)

    @pytest.mark.parametrize(
        ("limit", "value", "message"),
        [
            ("confidence", 1.0, "the limit confidence must be below 1, not 1"),
            ("confidence", 0, "the limit confidence must be above 0, not 0"),
            ("wild_chance", 1.5, "the limit wild_chance must be below 1, not 1.5"),
            ("least_readings", 2, "least_readings must be 3 or more, not 2"),
            ("least_lag_readings", 2.5, "least_lag_readings must be 3 or more"),
            ("least_shape_readings", 3, "least_shape_readings must be 4 or more, not 3"),
            ("least_span_rpm", -1, "least_span_rpm must be 0 or more"),
            ("lag_us", -1, "lag_us must be 0 or more"),
            ("scatter_deg", 0, "scatter_deg must be above 0"),
            ("same_speed_rpm", 0.5, "same_speed_rpm must be 1 or more"),
            ("wild_deg", -1, "wild_deg must be 0 or more"),
            ("shape_share", math.nan, "shape_share must be a finite number"),
        ],
    )
    def test_limits_that_mean_nothing_are_refused(self, limit, value, message):
        with pytest.raises(TimingError, match=message):
            StrobeLimits(**{limit: value})

    def test_the_defaults_are_those_of_the_handbook(self):
        limits = StrobeLimits()
        assert (limits.confidence, limits.least_readings, limits.least_span_rpm) == (0.95, 4, 1500), "handbook 5"
        assert (limits.least_lag_readings, limits.least_shape_readings) == (6, 6), "handbook 5"
        assert (limits.lag_us, limits.scatter_deg, limits.repeat_deg, limits.mark_deg) == (50, 1, 2, 1), "handbook 5"
        assert (limits.shape_share, limits.shape_condition) == (0.25, 1e3), "handbook 5"

    def test_a_negative_speed_has_no_mean(self):
        with pytest.raises(TimingError, match="engine speed must be 0 rpm or more, not -5"):
            worked("S1").mean_at(-5)
