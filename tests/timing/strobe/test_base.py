"""Proving base timing at two speeds: what counts as proof, and what to do where it fails."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from timing.errors import TimingError
from timing.strobe import LampKind, VerdictKind, prove_base


def proof_of(late, rpm=(900, 900, 1800, 1800), **options):
    """The proof of base timing 10 where the spark is late by so much."""
    return prove_base(rpm=rpm, measured=[10 - degrees for degrees in late], base_deg=10, **options)


class TestFigures:
    @given(st.lists(st.floats(-5, 5), min_size=2, max_size=8))
    def test_the_interval_is_that_of_a_mean_with_the_step_of_the_scale(self, late):
        found = proof_of(late, rpm=np.linspace(900, 1800, len(late)))
        assert found.mean_deg == pytest.approx(np.mean(late), abs=1e-12)
        # The scatter never below what rounding makes, and half a step beside it: to half a degree, or to whole ones.
        step = 1.0 if all((10 - degrees).is_integer() for degrees in late) else 0.5
        scatter = max(np.std(late, ddof=1), step / math.sqrt(12))
        half = math.hypot(stats.t.ppf(0.975, len(late) - 1) * scatter / math.sqrt(len(late)), step / 2)
        assert found.interval == pytest.approx((found.mean_deg - half, found.mean_deg + half), abs=1e-9), "scipy"

    def test_readings_are_gathered_by_speed(self):
        found = proof_of([1, 0, 0.5, 0.25], rpm=[1810, 900, 1790, 925])
        assert [(at.rpm, at.mean_deg, at.readings) for at in found.by_speed] == [(912.5, 0.125, 2), (1800, 0.75, 2)]

    def test_speeds_beyond_the_limit_are_two(self):
        assert len(proof_of([0, 0], rpm=[900, 926]).by_speed) == 2
        assert len(proof_of([0, 0], rpm=[900, 925]).by_speed) == 1

    def test_the_worst_reading_keeps_its_sign(self):
        assert proof_of([0.2, -0.9, 0.1, 0.3]).worst_deg == pytest.approx(-0.9)
        assert proof_of([0.2, -0.9, 0.1, 0.3]).residuals == pytest.approx((0.2, -0.9, 0.1, 0.3))

    def test_a_single_reading_has_no_interval(self):
        found = proof_of([0.5], rpm=[900])
        assert found.interval is None
        assert found.verdict.kind is VerdictKind.MORE_READINGS


class TestVerdict:
    def test_agreement_at_two_speeds_proves_the_base(self):
        verdict = proof_of([0.5, 0, 0, 0.2]).verdict
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE, "handbook 11, item 22"
        assert verdict.holds

    @pytest.mark.parametrize(("late", "proven"), [(0.6605, True), (0.6606, False)])
    def test_the_whole_interval_must_lie_within_the_tolerance(self, late, proven):
        # Four equal readings to half a degree: t(0.975, 3) = 3.182446 of the handbook's table, 0.5 / sqrt(12) for the
        # rounding of each and a quarter of a degree for that of all.
        assert math.hypot(3.182446 * 0.5 / math.sqrt(12 * 4), 0.25) == pytest.approx(0.33948, abs=1e-5)
        for sign in (1, -1):
            verdict = proof_of([sign * late] * 4).verdict
            assert (verdict.kind is VerdictKind.WITHIN_TOLERANCE) is proven, "handbook 11, item 22"
            assert proven or verdict.turn_dist_deg == pytest.approx(sign * late / 2), "half the crank's angle"

    @pytest.mark.parametrize(("last", "proven"), [(0.999, True), (1.001, False)])
    def test_every_reading_must_lie_within_the_tolerance(self, last, proven):
        rpm = [900, 900, 900, 900, 1800, 1800, 1800, 1800, 1800]
        for sign in (1, -1):
            verdict = proof_of([0, 0, 0, 0, 0, 0, 0, 0, sign * last], rpm=rpm).verdict
            assert (verdict.kind is VerdictKind.WITHIN_TOLERANCE) is proven, "handbook 11, item 22"
            assert proven or verdict.kind is VerdictKind.MORE_READINGS

    def test_a_reading_that_meets_the_tolerance_is_within_it_whatever_the_last_bit(self):
        assert 16.1 - 15.1 > 1, "in binary"
        measured = [16.1, 16.1, 16.1, 16.1, 16.1, 16.1, 16.1, 16.1, 15.1]
        verdict = prove_base(rpm=[900] * 4 + [1800] * 5, measured=measured, base_deg=16.1).verdict
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE

    def test_an_interval_that_ends_on_the_tolerance_lies_within_it(self):
        half = proof_of([0.5] * 4).interval[1] - 0.5
        for sign in (1, -1):
            assert proof_of([sign * 0.5] * 4, tolerance=0.5 + half).verdict.holds
            assert not proof_of([sign * 0.5] * 4, tolerance=0.499 + half).verdict.holds

    def test_a_real_error_is_turned_away(self):
        verdict = proof_of([3, 2.9, 3.1, 3]).verdict
        assert verdict.kind is VerdictKind.RESET
        assert verdict.turn_dist_deg == pytest.approx(1.5)
        assert proof_of([3, 2.9, 3.1, 3], strokes=2).verdict.turn_dist_deg == pytest.approx(3), (
            "it turns at crank speed"
        )

    def test_an_error_beyond_tolerance_is_turned_away_even_where_two_readings_leave_it_vague(self):
        for sign in (1, -1):
            verdict = proof_of([sign * 3, sign * 3.6], rpm=[900, 1800]).verdict
            assert verdict.kind is VerdictKind.RESET
            assert verdict.turn_dist_deg == pytest.approx(sign * 1.65)

    def test_an_early_error_that_is_surely_there_is_turned_back(self):
        verdict = proof_of([-0.9, -0.9, -0.9, -0.9]).verdict
        assert verdict.kind is VerdictKind.RESET
        assert verdict.turn_dist_deg == pytest.approx(-0.45)

    def test_two_readings_half_a_degree_apart_are_too_few_to_know(self):
        verdict = proof_of([-0.5, 0], rpm=[900, 1800]).verdict
        assert verdict.kind is VerdictKind.MORE_READINGS
        # t(0.975, 1) = 12.706205 of handbook 5, standard deviation 0.5 / sqrt(2), over sqrt(2).

    @pytest.mark.parametrize(("second", "enough"), [(1399, False), (1400, True)])
    def test_the_second_speed_is_500_rpm_away(self, second, enough):
        verdict = proof_of([0, 0, 0, 0], rpm=[900, 900, second, second]).verdict
        assert (verdict.kind is VerdictKind.WITHIN_TOLERANCE) is enough, "common practice, no source"

    def test_one_speed_proves_nothing_however_often_it_is_read(self):
        verdict = proof_of([0] * 8, rpm=[900] * 8).verdict
        assert verdict.kind is VerdictKind.MORE_READINGS

    @pytest.mark.parametrize(("moves", "flat"), [(1.001, False), (0.999, True)])
    def test_a_spark_that_moves_between_the_speeds_forbids_turning(self, moves, flat):
        for late in ([0, 0, moves, moves], [moves, moves, 0, 0]):
            verdict = proof_of(late).verdict
            moved = verdict.kind in (VerdictKind.CURVE_NOT_FLAT, VerdictKind.LAG)
            assert moved is not flat, "handbook 11, item 22: curve flat"
            assert flat or verdict.turn_dist_deg is None

    def test_a_move_of_exactly_the_tolerance_is_flat(self):
        assert 8.3 - 7.3 > 1, "in binary"
        verdict = prove_base(rpm=[900, 900, 1800, 1800], measured=[8.3, 8.3, 7.3, 7.3], base_deg=8, tolerance=1).verdict
        assert verdict.kind not in (VerdictKind.CURVE_NOT_FLAT, VerdictKind.LAG)

    @pytest.mark.parametrize(("apart", "scatters"), [(2.001, True), (1.999, False)])
    def test_readings_two_degrees_apart_at_one_speed_come_first(self, apart, scatters):
        verdict = proof_of([0, apart, 0, 0]).verdict
        assert (verdict.kind is VerdictKind.SCATTER_OR_MARK) is scatters, "handbook 5, rule 3"

    @pytest.mark.parametrize(("error", "wrong"), [(1.001, True), (-1.001, True), (1, False)])
    def test_a_wrong_mark_comes_before_everything(self, error, wrong):
        verdict = proof_of([0], rpm=[900], mark_error_deg=error).verdict
        assert (verdict.kind is VerdictKind.SCATTER_OR_MARK) is wrong, "handbook 11, item 11"

    @pytest.mark.parametrize(
        ("late", "options", "figures"),
        [
            (
                [0.5, 0, 0, 0.2],
                {},
                [("average error (late +)", 0.175, "degrees"), ("largest single error", 0.5, "degrees")],
            ),
            (
                [3, 3, 3, 3.4],
                {},
                [("average error (late +)", 3.1, "degrees"), ("largest single error", 3.4, "degrees")],
            ),
            (
                [0.9, -0.9, 0, 0],
                {},
                [("average error (late +)", 0.0, "degrees"), ("largest single error", 0.9, "degrees")],
            ),
            ([3, 3, 0, 0], {}, [("difference between speeds", 3, "degrees")]),
            # 3 degrees in 900 rpm, which are 5400 degrees a second.
            ([0, 0, 3, 3], {}, [("delay", 3e6 / 5400, "µs"), ("difference between speeds", 3, "degrees")]),
            (
                [0, 5, 0],
                {"rpm": [900, 1300, 1800]},
                [("outlier against the others", 5, "degrees"), ("average error (late +)", 5 / 3, "degrees")],
            ),
            ([0, 3, 0, 0], {}, [("difference at one speed", 3, "degrees")]),
            ([0, 0, 0, 0], {"mark_error_deg": -2}, [("timing mark against piston stop", -2, "degrees")]),
            ([1, 1, 1, 1], {"rpm": [900] * 4}, [("average error (late +)", 1, "degrees")]),
        ],
    )
    def test_a_verdict_names_the_figures_it_rests_on(self, late, options, figures):
        found = [(figure.what, figure.value, figure.unit) for figure in proof_of(late, **options).verdict.figures]
        assert [(what, pytest.approx(value, abs=1e-9), unit) for what, value, unit in figures] == found, "by hand"

    def test_readings_exactly_two_degrees_apart_keep_the_limit(self):
        assert (8 - 6.3) - (8 - 8.3) > 2, "in binary"
        verdict = prove_base(rpm=[900, 900, 1800, 1800], measured=[6.3, 8.3, 7.3, 7.3], base_deg=8, tolerance=3).verdict
        assert verdict.kind is VerdictKind.WITHIN_TOLERANCE, "handbook 5, rule 3: more than 2"

    def test_the_tolerance_is_a_setting(self):
        assert proof_of([1.5, 1.5, 1.5, 1.5], tolerance=2).verdict.kind is VerdictKind.WITHIN_TOLERANCE

    @given(st.lists(st.tuples(st.sampled_from([800, 900, 1500, 2000]), st.integers(-4, 4)), min_size=1, max_size=6))
    def test_what_is_proven_lies_within_tolerance_at_two_speeds(self, readings):
        rpm, late = zip(*readings, strict=True)
        found = proof_of(late, rpm=rpm)
        assert "nan" not in found.verdict.sentence
        if found.verdict.holds:
            assert len(set(rpm)) > 1
            assert max(map(abs, late)) <= 1
            assert max(map(abs, found.interval)) <= 1


class TestOutlier:
    """What belongs together: readings at one speed, and a speed between its neighbours; common practice, no source."""

    def test_a_speed_between_two_that_agree_is_singled_out(self):
        verdict = proof_of([0, 5, 0.5], rpm=[900, 1300, 1800]).verdict
        assert verdict.kind is VerdictKind.OUTLIER
        # Between 900 and 1800 rpm the line rises by 0.5 degrees: 0.222 at 1300 rpm.
        assert verdict.figures[0].value == pytest.approx(5 - 0.5 * 400 / 900), "by hand"
        assert not verdict.holds
        assert verdict.turn_dist_deg is None

    def test_a_reading_is_compared_with_the_others_at_its_speed(self):
        verdict = proof_of([0, 0, 0.2, 5, 0], rpm=[900, 900, 1800, 1800, 1800]).verdict
        assert verdict.kind is VerdictKind.OUTLIER
        assert verdict.figures[0].value == pytest.approx(4.9), "by hand: against the mean of 0.2 and 0"
        assert verdict.without_outlier.kind is VerdictKind.WITHIN_TOLERANCE

    def test_what_the_others_say_without_it_is_told(self):
        verdict = proof_of([3, 3, 3, 9, 3], rpm=[900, 900, 1800, 1800, 1800]).verdict
        assert verdict.without_outlier.kind is VerdictKind.RESET
        assert verdict.without_outlier.turn_dist_deg == pytest.approx(1.5)

    @pytest.mark.parametrize(("off", "found"), [(2.001, True), (2.0, False)])
    def test_it_is_more_than_two_degrees_off(self, off, found):
        for sign in (1, -1):
            verdict = proof_of([0, sign * off, 0], rpm=[900, 1300, 1800]).verdict
            assert (verdict.kind is VerdictKind.OUTLIER) is found

    @pytest.mark.parametrize(
        ("late", "rpm"),
        [
            ([0, 5], [1800, 1800]),  # either may be the odd one
            ([0, 0, 0, 5], [900, 900, 1800, 1800]),
            ([0, 0, 5], [900, 1300, 1800]),  # at the end of the range: a mechanism that moves looks the same
            ([5, 0, 0], [900, 1300, 1800]),
            ([0, 3, 6], [1800, 1800, 1800]),  # no two agree
            ([0, 5, 0, 5], [900, 1300, 1800, 2300]),  # two, or the curve
            ([0, 5, 3], [900, 1300, 1800]),  # the neighbours do not agree
            ([0, 5, 5, 0], [900, 1300, 1310, 1800]),  # borne out at its own speed
        ],
    )
    def test_where_the_others_do_not_agree_none_is_singled_out(self, late, rpm):
        assert proof_of(late, rpm=rpm).verdict.kind is not VerdictKind.OUTLIER


class TestDelay:
    @pytest.mark.parametrize("late", [[0, 0, 1.5, 1.5], [-2, -2, -0.5, -0.5], [2, 2, 3.5, 3.5]])
    def test_a_spark_that_comes_later_with_speed_is_a_delay(self, late):
        verdict = proof_of(late).verdict
        assert verdict.kind is VerdictKind.LAG
        # 1.5 degrees in 900 rpm, which are 5400 degrees a second.
        assert verdict.figures[0].value == pytest.approx(1.5e6 / 5400), "by hand"
        assert verdict.figures[0].interval[0] > 0

    def test_one_that_comes_earlier_is_not_for_weights_and_vacuum_do_that(self):
        verdict = proof_of([1.5, 1.5, 0, 0]).verdict
        assert verdict.kind is VerdictKind.CURVE_NOT_FLAT

    def test_it_grows_evenly_or_is_something_else(self):
        even = proof_of([0, 0.8, 1.8], rpm=[900, 1300, 1800]).verdict
        late_only_at_last = proof_of([0, 0, 0, 0, 2, 2], rpm=[900, 900, 1300, 1300, 1800, 1800]).verdict
        assert even.kind is VerdictKind.LAG
        assert late_only_at_last.kind is VerdictKind.CURVE_NOT_FLAT

    @given(st.floats(200, 800), st.floats(-3, 3))
    def test_the_delay_put_in_is_found_again(self, lag_us, offset):
        rpm = np.array([800, 1500, 2600.0])
        verdict = proof_of(offset + lag_us * 6e-6 * rpm, rpm=rpm).verdict
        assert verdict.kind is VerdictKind.LAG, "exact readings: at least 2.16 degrees between the speeds"
        assert verdict.figures[0].value == pytest.approx(lag_us)

    def test_entering_it_is_advised_only_where_the_unit_has_the_entry(self):
        told = [proof_of([0, 0, 2, 2], unit_takes_delay=takes).verdict.sentence for takes in (True, False)]
        assert told[0] != told[1]
        plain, dial = (proof_of([0, 0, 2, 2], lamp=lamp).verdict.sentence for lamp in LampKind)
        assert plain != dial


class TestBadInput:
    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            (([900], [10, 10], 10), "1 speeds but 2 measured advances"),
            (([], [], 10), "there are no readings"),
            (([900], [math.nan], 10), "a measured advance must be a finite number"),
            (([-900], [10], 10), "a speed must be above 0 rpm, not -900"),
            (([900], [10], math.nan), "base timing must be a finite number"),
            (([900], [10], [10, 10]), "base timing must be one number"),
            (([900], [10], 200), "base timing must be 180 degrees or less, not 200"),
            (([900], [10], 10, 0), "the tolerance must be above 0 degrees, not 0"),
        ],
    )
    def test_what_is_no_reading_is_refused(self, arguments, message):
        named = dict(zip(("rpm", "measured", "base_deg", "tolerance"), arguments, strict=False))
        with pytest.raises(TimingError, match=f"^{message}"):
            prove_base(**named)

    def test_other_strokes_are_refused(self):
        with pytest.raises(TimingError, match=r"^an engine has two strokes or four, not 3"):
            proof_of([0], rpm=[900], strokes=3)
