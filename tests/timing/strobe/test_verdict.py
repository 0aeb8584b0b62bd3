"""The one verdict of a strobe session: the order of the rules."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.strobe.sessions import NOISE, OLD, fine, fit_of, flat, readings_of, session, worked
from timing.strobe import VerdictKind, judge


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
        assert judge(worked(name)).kind is kind, "handbook 5"

    def test_after_a_lag_the_distributor_is_turned_by_the_rest(self):
        verdict = judge(worked("S1"))
        assert verdict.turn_dist_deg is None
        assert verdict.then.kind is VerdictKind.RESET, "handbook 5: lag, then re-set"
        assert verdict.then.turn_dist_deg == pytest.approx(1.458595 / 2, abs=1e-6), "handbook 5: half the sync"
        assert verdict.figures[0].value == pytest.approx(119.4556, abs=1e-4)
        assert verdict.figures[0].unit == "µs"
        assert verdict.figures[0].interval == pytest.approx((119.4556 - 34.5713, 119.4556 + 34.5713), abs=0.005)
        assert verdict.figures[1].value == pytest.approx(1.458595, abs=1e-6)

    def test_a_constant_error_is_turned_away_by_the_mean(self):
        verdict = judge(worked("S2"))
        assert verdict.turn_dist_deg == pytest.approx(1.875), (
            "handbook 5: constant model, 3.75, at half the crank's angle"
        )
        assert str(verdict) == verdict.sentence
        assert verdict.figures[0].interval == pytest.approx((3.5266, 3.9734), abs=1e-4)

    def test_a_two_stroke_distributor_is_turned_by_the_whole_error(self):
        assert judge(worked("S2", strokes=2)).turn_dist_deg == pytest.approx(3.75), "it turns at the crank's speed"

    def test_an_early_spark_is_turned_back(self):
        verdict = judge(session(sync=-3))
        assert verdict.turn_dist_deg == pytest.approx(-1.5), "by hand"

    def test_a_free_mechanism_says_how_free_and_forbids_turning(self):
        verdict = judge(worked("S3"))
        assert verdict.turn_dist_deg is None
        assert verdict.figures[0].value == pytest.approx(-1.080955, abs=1e-6)

    @pytest.mark.parametrize(("free", "locked"), [(1.0, False), (0.26, False), (0.24, True), (0.0, True), (-1.0, True)])
    def test_a_quarter_of_the_old_curve_betrays_the_lock(self, free, locked):
        verdict = judge(session(free=free, old_curve=OLD))
        assert (verdict.kind is not VerdictKind.MECHANISM_NOT_LOCKED) is locked, "handbook 5, rule 2"

    def test_a_share_of_the_old_curve_within_the_noise_proves_nothing(self):
        loud = session(free=0.3, noise=flat(3 * NOISE), old_curve=OLD)
        assert loud.shape_interval[0] < 0 < loud.shape_interval[1]
        assert judge(loud).kind is VerdictKind.SCATTER_OR_MARK

    @pytest.mark.parametrize(("count", "few"), [(3, True), (4, False)])
    def test_fewer_than_four_readings_are_too_few(self, count, few):
        verdict = judge(session(rpm=np.linspace(900, 4000, count)))
        assert (verdict.kind is VerdictKind.MORE_READINGS) is few, "handbook 5, rule 1"

    @pytest.mark.parametrize(("span", "close"), [(1499, True), (1500, False)])
    def test_readings_within_1500_rpm_are_too_close(self, span, close):
        verdict = judge(session(rpm=np.linspace(900, 900 + span, 8)))
        assert (verdict.kind is VerdictKind.MORE_READINGS) is close, "handbook 5, rule 1"

    def test_too_few_readings_still_show_their_mean(self):
        verdict = judge(fit_of([900, 1200, 1500, 1800], [8, 8, 9, 9], 10))
        assert verdict.figures[0].value == 1.5

    @pytest.mark.parametrize(("scatter", "worn"), [(1.001, True), (0.999, False)])
    def test_scatter_beyond_a_degree_speaks_for_drive_or_mark(self, scatter, worn):
        shape = flat(NOISE)
        noise = scatter * shape / math.sqrt((shape**2).sum() / 6)
        fit = session(noise=noise, tolerance=3)
        assert fit.scatter_deg == pytest.approx(scatter)
        assert (judge(fit).kind is VerdictKind.SCATTER_OR_MARK) is worn, "handbook 5, rule 3"

    @pytest.mark.parametrize(
        ("second_rpm", "apart", "worn"),
        [(2500, 2.001, True), (2525, 2.001, True), (2526, 2.5, False), (2500, 2, False)],
    )
    def test_readings_two_degrees_apart_at_one_speed_speak_for_drive_or_mark(self, second_rpm, apart, worn):
        rpm = np.append(np.repeat([900, 4000.0], 8), [2500, second_rpm])
        noise = np.append(np.zeros(16), [apart / 2, -apart / 2])
        verdict = judge(session(rpm=rpm, noise=noise, limits=fine(outlier_deg=90)))
        assert (verdict.kind is VerdictKind.SCATTER_OR_MARK) is worn, "handbook 5, rule 3"

    @pytest.mark.parametrize(("error", "wrong"), [(1.001, True), (-1.001, True), (1.0, False), (-1.0, False)])
    def test_a_mark_off_the_piston_stop_comes_before_any_turning(self, error, wrong):
        verdict = judge(session(sync=3, mark_error_deg=error))
        assert (verdict.kind is VerdictKind.SCATTER_OR_MARK) is wrong, "handbook 5, rule 3; 11, item 11"

    @pytest.mark.parametrize(("factor", "known"), [(1.001, False), (0.999, True)])
    def test_a_mean_not_known_to_the_tolerance_asks_for_more_readings(self, factor, known):
        rpm = np.array([900, 2000, 3000, 4000.0])
        fit = session(rpm=rpm, noise=flat(np.array([0.2, -0.2, -0.2, 0.2]), rpm))
        half = max(fit.mean_at(900).half_width_deg, fit.mean_at(4000).half_width_deg)
        fit = dataclasses.replace(fit, tolerance=half / factor)
        assert (judge(fit).kind is VerdictKind.MORE_READINGS) is not known, "handbook 5, rule 4"

    def test_a_hopeless_scatter_is_not_answered_with_a_thousand_readings(self):
        rpm = np.array([900, 2000, 3000, 4000.0])
        wide = fine(scatter_deg=90)
        verdict = judge(session(rpm=rpm, noise=8 * np.array([1, -1, 1, -1.0]), limits=wide))
        assert verdict.kind is VerdictKind.MORE_READINGS

    @pytest.mark.parametrize(("lag_us", "lagging"), [(51, True), (-51, True), (49, False), (-49, False), (0, False)])
    def test_a_lag_surely_beyond_50_us_is_called_one(self, lag_us, lagging):
        verdict = judge(session(lag_us=lag_us, sync=2, noise=flat(1e-3 * NOISE)))
        assert (verdict.kind is VerdictKind.LAG) is lagging, "handbook 5, rule 5"
        assert lagging or verdict.kind is VerdictKind.RESET

    @pytest.mark.parametrize(
        ("sync", "lag_us"),
        [
            (1.2, -40),  # 0.98 degrees late at 900 rpm, 0.24 at 4000
            (-1.2, 45),  # 0.96 early, 0.12 early
            (-1.3, 70),  # 0.92 early, 0.38 late
        ],
    )
    def test_what_is_in_tolerance_at_every_speed_read_is_not_turned_away_for_what_it_would_be_at_standstill(
        self, sync, lag_us
    ):
        fit = session(sync=sync, lag_us=lag_us, noise=flat(0.2 * NOISE))
        assert max(map(abs, session(sync=sync, lag_us=lag_us).residuals)) < 1 < abs(fit.sync_deg)
        assert not fit.lag_interval[0] < 0 < fit.lag_interval[1]
        assert judge(fit).kind is VerdictKind.WITHIN_TOLERANCE, "by hand: the residuals at 900 and 4000 rpm"

    @given(st.floats(-4, 4), st.floats(-90, 90))
    def test_a_distributor_turned_as_told_is_within_tolerance(self, sync, lag_us):
        noise = flat(0.02 * NOISE)
        verdict = judge(session(sync=sync, lag_us=lag_us, noise=noise, limits=fine(lag_us=100)))
        if verdict.kind is VerdictKind.RESET:
            turned = session(sync=sync - 2 * verdict.turn_dist_deg, lag_us=lag_us, noise=noise, limits=fine(lag_us=100))
            assert judge(turned).kind is VerdictKind.WITHIN_TOLERANCE, "half the crank's angle, handbook 5"

    def test_a_swing_that_no_turning_brings_in_is_a_delay(self):
        # 110 microseconds swing by 2.05 degrees between 900 and 4000 rpm: more than the tolerance to either side.
        fit = session(sync=1.5, lag_us=110, noise=flat(0.5 * NOISE), tolerance=1)
        assert 0 < fit.lag_interval[0] < 50
        assert judge(fit).kind is VerdictKind.LAG

    def test_a_lag_that_may_be_less_is_not_called_one(self):
        fit = session(lag_us=70, noise=flat(0.25 * NOISE))
        assert fit.lag_interval[0] < 50 < fit.lag_interval[1]
        assert judge(session(lag_us=70, sync=-0.9, noise=flat(0.25 * NOISE))).kind is VerdictKind.WITHIN_TOLERANCE

    def test_a_real_lag_that_carries_the_highest_speed_out_of_tolerance_is_called_one(self):
        # 70 us are 1.7 degrees at 4000 rpm: the constant part alone being small does not make that right.
        fit = session(lag_us=70, noise=flat(0.25 * NOISE))
        assert abs(fit.sync_deg) < 1 < fit.mean_at(4000).mean_deg
        assert judge(fit).kind is VerdictKind.LAG
        assert judge(fit).then.kind is VerdictKind.WITHIN_TOLERANCE

    def test_a_change_with_speed_seen_in_too_few_readings_asks_for_more(self):
        rpm = np.array([900, 2000, 3000, 4000.0])
        verdict = judge(session(lag_us=300, rpm=rpm, noise=flat(np.array([1, -1, -1, 1]) * 0.05, rpm)))
        assert verdict.kind is VerdictKind.MORE_READINGS

    @pytest.mark.parametrize(("sync", "kind"), [(1.001, "reset"), (-1.001, "reset"), (0.999, "within_tolerance")])
    def test_a_constant_error_beyond_the_tolerance_is_turned_away(self, sync, kind):
        verdict = judge(session(sync=sync, noise=flat(0.1 * NOISE)))
        assert verdict.kind == kind, "handbook 5, rule 6"
        assert verdict.holds is (kind == "within_tolerance")

    @pytest.mark.parametrize("sync", [1.0, -1.0])
    @pytest.mark.parametrize("count", range(4, 13))
    def test_readings_that_meet_the_tolerance_to_the_degree_are_within_it(self, count, sync):
        verdict = judge(session(sync=sync, rpm=np.linspace(900, 4000, count)))
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE, "handbook 5, rule 6: beyond the tolerance, not at it"

    def test_a_lag_of_which_half_a_microsecond_is_sure_may_carry_the_timing_out(self):
        fit = session(lag_us=46, noise=flat(0.28597434784141634 * NOISE))
        assert fit.lag_interval == pytest.approx((0.5, 91.5)), "by root finding, scipy brentq"
        assert fit.mean_at(4000).mean_deg == pytest.approx(46e-6 * 24000), "by hand: 1.1 degrees"
        assert judge(fit).kind is VerdictKind.LAG

    def test_the_line_decides_where_the_lag_is_real_and_the_mean_where_it_is_not(self):
        real = session(sync=2, lag_us=30, noise=flat(0.02 * NOISE))
        assert real.lag_interval[0] > 0
        # 2 + 30e-6 * 6 * 2450: the middle of the line between 900 and 4000 rpm, so that both ends are left as near.
        assert judge(real).turn_dist_deg == pytest.approx(2.441 / 2), "by hand"
        early = session(sync=2, lag_us=-30, noise=flat(0.02 * NOISE))
        assert early.lag_interval[1] < 0
        assert judge(early).turn_dist_deg == pytest.approx(1.559 / 2), "the same with the delay the other way"
        unsure = session(sync=2, lag_us=10, noise=flat(0.5 * NOISE))
        assert unsure.lag_interval[0] < 0
        assert judge(unsure).turn_dist_deg == pytest.approx(unsure.mean_deg / 2), (
            "handbook 5, rule 6: the constant model"
        )

    @pytest.mark.parametrize(
        ("verdict", "figures"),
        [
            (
                lambda: judge(worked("S1")),
                [("delay", 119.45555, "µs"), ("fixed offset", 1.4586, "degrees")],
            ),
            (lambda: judge(worked("S1")).then, [("fixed offset", 1.4586, "degrees")]),
            (lambda: judge(worked("S2")), [("fixed offset", 3.75, "degrees")]),
            (
                lambda: judge(worked("S3")),
                [("share of the old curve", -1.081, "")],
            ),
            (
                lambda: judge(fit_of(*readings_of("S3"), mark_error_deg=-1.5)),
                [("scatter", 2.1825, "degrees"), ("timing mark against piston stop", -1.5, "degrees")],
            ),
            (
                lambda: judge(fit_of([900, 900, 4000, 4000] * 3, [9, 11.1, 10, 10] * 3, 10)),
                [("difference at one speed", 2.1, "degrees")],
            ),
            (lambda: judge(fit_of([900], [8], 10)), [("average error (late +)", 2.0, "degrees")]),
            (
                # Four alternating readings: t(0.975, 2) = 4.302653 of the handbook's table, s = 1.
                lambda: judge(
                    session(rpm=np.array([900, 900, 4000, 4000.0]), noise=math.sqrt(0.5) * np.array([1, -1, 1, -1]))
                ),
                [("average known to within", 4.302653 * math.sqrt(0.5), "degrees")],
            ),
            (
                lambda: judge(
                    session(
                        lag_us=300,
                        rpm=np.array([900, 2000, 3000, 4000.0]),
                        noise=flat(np.array([0.05, -0.05, -0.05, 0.05]), np.array([900, 2000, 3000, 4000.0])),
                    )
                ),
                # The mean of the speeds is 2475 rpm.
                [("average error (late +)", 300e-6 * 6 * 2475, "degrees")],
            ),
            (
                lambda: judge(session(lag_us=100, noise=flat(0.1 * NOISE))).then,
                [("fixed offset", 0.0, "degrees")],
            ),
            (
                lambda: judge(fit_of([2000] * 6, [9, 9.2, 8.9, 9.1, 15, 9], 10)),
                [("outlier against the others", -5.96, "degrees"), ("average error (late +)", 0.96, "degrees")],
            ),
            (
                lambda: judge(worked("S2", tolerance=4)),
                [
                    ("fixed offset", 3.75, "degrees"),
                    # 3.564106 and 13.32572 microseconds at 24 000 degrees a second, from the handbook's table.
                    ("largest average error", 3.8839, "degrees"),
                ],
            ),
        ],
    )
    def test_a_verdict_names_the_figures_it_rests_on(self, verdict, figures):
        found = [(figure.what, figure.value, figure.unit) for figure in verdict().figures]
        assert [(what, pytest.approx(value, abs=5e-5), unit) for what, value, unit in figures] == found, "handbook 5"

    def test_a_lean_that_scatter_may_explain_is_not_acted_on(self):
        fit = session(lag_us=60, noise=flat(0.5 * NOISE))
        assert fit.lag_interval[0] < 0 < fit.mean_at(4000).mean_deg - 1
        verdict = judge(fit)
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE, "handbook 5, rule 6: the constant model"
        assert verdict.figures[1].value == pytest.approx(60e-6 * 24000), "by hand: 1.44 degrees"
        assert verdict.figures[1].interval[0] < 1.44 < verdict.figures[1].interval[1]

    @given(st.integers(0, 2**32 - 1), st.integers(1, 12), st.floats(0, 4), st.floats(-8, 8), st.floats(-300, 300))
    def test_every_session_gets_a_verdict_without_a_nan(self, seed, count, scatter, sync, lag_us):
        chance = np.random.default_rng(seed)
        rpm = np.round(chance.uniform(600, 5000, count), -2)
        fit = session(sync, lag_us, rpm=rpm, noise=np.round(chance.normal(0, scatter, count)), old_curve=OLD)
        verdict = judge(fit)
        assert "nan" not in verdict.sentence
        for figure in verdict.figures:
            assert math.isfinite(figure.value)
        for value in (fit.sync_deg, fit.lag_us, fit.scatter_deg, fit.shape):
            assert value is None or math.isfinite(value)
        assert (verdict.turn_dist_deg is not None) is (verdict.kind is VerdictKind.RESET)


def test_kinds_of_verdict_are_words_that_may_be_stored():
    assert [kind.value for kind in VerdictKind] == [
        "more_readings",
        "mechanism_not_locked",
        "scatter_or_mark",
        "lag",
        "reset",
        "within_tolerance",
        "outlier",
        "curve_not_flat",
    ]


class TestExactlyAtALimit:
    """A limit is within itself, whatever the last bit of a sum of decimal figures (IEEE 754) says."""

    def test_readings_exactly_two_degrees_apart_keep_the_limit(self):
        assert (8 - 6.3) - (8 - 8.3) > 2, "in binary"
        rpm = [900] * 8 + [4000] * 8 + [2500, 2500]
        fit = fit_of(rpm, [7.3] * 16 + [6.3, 8.3], 8, limits=fine(outlier_deg=90))
        assert judge(fit).kind is VerdictKind.WITHIN_TOLERANCE, "handbook 5, rule 3: more than 2"

    def test_a_mark_exactly_a_degree_off_keeps_the_limit(self):
        assert judge(session(mark_error_deg=16.1 - 15.1)).kind is VerdictKind.WITHIN_TOLERANCE
        assert 16.1 - 15.1 > 1, "in binary"

    def test_speeds_exactly_1500_rpm_apart_are_far_enough(self):
        rpm = np.linspace(900.3, 2400.3, 8)
        rpm[-1] = 2400.2999999999997
        assert rpm[-1] - rpm[0] < 1500, "in binary"
        fit = session(rpm=rpm)
        assert fit.lag_unknown is None
        assert judge(fit).kind is VerdictKind.WITHIN_TOLERANCE, "handbook 5, rule 1"

    def test_speeds_exactly_25_rpm_apart_are_one(self):
        rpm = [2000.1, 2025.1000000000001, 2010]
        assert max(rpm) - min(rpm) > 25, "in binary"
        assert fit_of(rpm, [9, 9, 9], 10).at_one_speed

    def test_a_delay_exactly_at_its_limit_is_none(self):
        fit = session(sync=0.0, lag_us=50 + 1e-9)
        assert fit.lag_interval[0] > 50, "in binary"
        assert judge(fit).kind is not VerdictKind.LAG or abs(fit.mean_at(4000).mean_deg) > 1
