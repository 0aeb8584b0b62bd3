"""Proving base timing: the unit's curve flat, a few strobe readings at two speeds."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.crank import crank_from_distributor
from timing.inputs import number
from timing.regression import LeastSquares, least_squares
from timing.strobe.advice import (
    DO_NOT_TURN,
    LEAVE_IT,
    LOOK_FOR_WEAR,
    MARK_AGAIN,
    about_a_delay,
    are_apart,
    late_or_early,
    likely,
    mark_is_off,
    turn_the_body,
)
from timing.strobe.limits import DEFAULT_LIMITS, StrobeLimits
from timing.strobe.outlier import Outlier, outlier_among_speeds
from timing.strobe.readings import (
    LARGEST_ADVANCE_DEG,
    LampKind,
    checked_mark_error,
    checked_readings,
    grouped_by_speed,
    largest_disagreement,
    step_of_scale,
)
from timing.strobe.verdict import AVERAGE, DELAY, Figure, Verdict, VerdictKind, describe_outlier
from timing.tolerance import exceeds, falls_short

_US_PER_S = 1e6
_DEG_PER_S_AND_RPM = 6.0


class SpeedMean(NamedTuple):
    """The mean of the readings at one speed.

    Attributes
    ----------
    rpm : float
        Mean of the speeds that count as this one. [rpm at the crank]
    mean_deg : float
        How late the spark is seen there. [degrees of crank, late positive]
    readings : int
        How many were taken there.
    """

    rpm: float
    mean_deg: float
    readings: int


@dataclass(frozen=True, slots=True)
class BaseProof:
    """Base timing as read at a few speeds, made by `prove_base`.

    Attributes
    ----------
    residuals : tuple of float
        Set minus measured, in the order given. [degrees of crank, late positive]
    by_speed : tuple of SpeedMean
        From the lowest speed to the highest.
    mean_deg : float
        Mean of all residuals. [degrees of crank, late positive]
    interval : tuple of float, or None
        Lowest and highest likely mean, the step of the scale counted; None for a single reading.
    worst_deg : float
        The residual furthest from 0. [degrees of crank, late positive]
    verdict : Verdict
        Of kind within_tolerance (proven), more_readings, scatter_or_mark, outlier, curve_not_flat, lag or reset.
    """

    residuals: tuple[float, ...]
    by_speed: tuple[SpeedMean, ...]
    mean_deg: float
    interval: tuple[float, float] | None
    worst_deg: float
    verdict: Verdict


def prove_base(
    *,
    rpm: ArrayLike,
    measured: ArrayLike,
    base_deg: float,
    tolerance: float = 1.0,
    mark_error_deg: float | None = None,
    strokes: int = 4,
    limits: StrobeLimits = DEFAULT_LIMITS,
    unit_takes_delay: bool = False,
    lamp: LampKind | None = None,
) -> BaseProof:
    """Whether a few strobe readings with the curve flat prove the base timing.

    Proven means: read at two speeds or more, every reading within tolerance, the speeds in agreement with each
    other, and the likely range of the mean inside the tolerance.

    Parameters
    ----------
    rpm : array, shape (n,)
        Engine speeds, above 0, in any order, at least one. [rpm at the crank]
    measured : array, shape (n,)
        Advance read with the strobe. [degrees of crank before top dead centre]
    base_deg : float
        The base timing set in the unit. [degrees of crank before top dead centre]
    tolerance : float
        Largest error accepted, above 0. [degrees of crank]
    mark_error_deg : float, optional
        By how much the timing mark disagrees with the piston stop, if that was measured. [degrees of crank]
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.
    limits : StrobeLimits
        What the workshop asks; used here: confidence, mark_deg, repeat_deg, same_speed_rpm, base_span_rpm and
        scale_step_deg.
    unit_takes_delay : bool
        Whether the fitted unit has an entry for a delay: only then is it advised to enter one.
    lamp : LampKind, optional
        The lamp it was read with, if that is known.

    Returns
    -------
    BaseProof
        The figures and the verdict on them.

    Raises
    ------
    StrobeError
        If lists differ in length, or there is no reading.
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    The error is taken as the same at every speed once the speeds agree. Two readings say next to nothing of their own
    scatter, so two that agree prove nothing; two at each of two speeds do. Acceptance: common practice, no source.

    References
    ----------
    The interval is that of `timing.regression.LeastSquares.mean_at` for a mean.
    """
    speeds, seen = checked_readings(rpm, measured)
    base = number(base_deg, "base timing", low=-LARGEST_ADVANCE_DEG, high=LARGEST_ADVANCE_DEG, unit="degrees")
    session = _Session(
        rpm=tuple(speeds.tolist()),
        residuals=tuple((base - seen).tolist()),
        tolerance=number(tolerance, "the tolerance", above=0.0, unit="degrees"),
        mark_error=checked_mark_error(mark_error_deg),
        crank_turns=float(crank_from_distributor(1.0, strokes)),
        step=step_of_scale(seen, limits.scale_step_deg),
        limits=limits,
        unit_takes_delay=unit_takes_delay,
        lamp=lamp,
    )
    return session.proof()


@dataclass(frozen=True, slots=True)
class _Session:
    """The readings with what they are judged by."""

    rpm: tuple[float, ...]
    residuals: tuple[float, ...]
    tolerance: float
    mark_error: float | None
    crank_turns: float
    step: float
    limits: StrobeLimits
    unit_takes_delay: bool
    lamp: LampKind | None

    def proof(self) -> BaseProof:
        mean = self._fit(np.ones(len(self.rpm)))
        by_speed = tuple(
            SpeedMean(
                math.fsum(self.rpm[place] for place in group) / len(group),
                math.fsum(self.residuals[place] for place in group) / len(group),
                len(group),
            )
            for group in grouped_by_speed(self.rpm, self.limits.same_speed_rpm)
        )
        findings = _Findings(
            session=self,
            by_speed=by_speed,
            mean=mean.coefficients[0],
            interval=mean.interval(0, self.limits.confidence),
            worst=max(self.residuals, key=abs),
        )
        return BaseProof(self.residuals, by_speed, findings.mean, findings.interval, findings.worst, findings.verdict())

    def without(self, place: int) -> _Session:
        keep = [at for at in range(len(self.rpm)) if at != place]
        return replace(self, rpm=tuple(self.rpm[at] for at in keep), residuals=tuple(self.residuals[at] for at in keep))

    def line(self) -> LeastSquares:
        """Of the residuals over the angle turned in a second, so that its slope is a time."""
        return self._fit(np.ones(len(self.rpm)), _DEG_PER_S_AND_RPM * np.array(self.rpm))

    def _fit(self, *columns: ArrayLike) -> LeastSquares:
        return least_squares(columns, self.residuals, step=self.step)


@dataclass(frozen=True, slots=True)
class _Findings:
    session: _Session
    by_speed: tuple[SpeedMean, ...]
    mean: float
    interval: tuple[float, float] | None
    worst: float

    def verdict(self) -> Verdict:
        return (
            self._mark()
            or self._outlier()
            or self._too_few()
            or self._scatter()
            or self._changes_with_speed()
            or self._level()
        )

    def _average(self) -> Figure:
        return Figure(AVERAGE, self.mean, "degrees", self.interval)

    def _mark(self) -> Verdict | None:
        # First of all: readings against a wrong mark prove nothing, however many there are.
        error, limit = self.session.mark_error, self.session.limits.mark_deg
        if error is None or not exceeds(abs(error), limit):
            return None
        sentence = f"Not proven: {mark_is_off(error, limit)}. {MARK_AGAIN}"
        figure = Figure("timing mark against piston stop", error, "degrees")
        return Verdict(VerdictKind.SCATTER_OR_MARK, sentence, (figure,))

    def _outlier(self) -> Verdict | None:
        session = self.session
        found: Outlier | None = outlier_among_speeds(
            rpm=session.rpm, residuals=session.residuals, limits=session.limits
        )
        if found is None:
            return None
        figure = Figure("outlier against the others", found.off_deg, "degrees")
        return Verdict(
            VerdictKind.OUTLIER,
            f"Not proven. {describe_outlier(found)}. Take it again before anything is changed.",
            (figure, self._average()),
            without_outlier=session.without(found.place).proof().verdict,
        )

    def _too_few(self) -> Verdict | None:
        apart, least = self.by_speed[-1].rpm - self.by_speed[0].rpm, self.session.limits.base_span_rpm
        if len(self.by_speed) > 1 and not falls_short(apart, least):
            return None
        have = "all readings are at one speed" if len(self.by_speed) == 1 else f"the speeds are {apart:.0f} rpm apart"
        sentence = (
            f"Not proven: {have}. On average the spark is {late_or_early(self.mean)}. "
            f"Read at a second speed {least:.0f} rpm or more away."
        )
        return Verdict(VerdictKind.MORE_READINGS, sentence, (self._average(),))

    def _scatter(self) -> Verdict | None:
        session, limits = self.session, self.session.limits
        apart = largest_disagreement(rpm=session.rpm, residuals=session.residuals, same_speed_rpm=limits.same_speed_rpm)
        if apart is None or not exceeds(apart.apart_deg, limits.repeat_deg):
            return None
        sentence = (
            f"Not proven: {are_apart(apart.apart_deg, rpm=apart.rpm, limit_deg=limits.repeat_deg)}. "
            f"Read that speed again. If they stay apart: {LOOK_FOR_WEAR[:1].lower()}{LOOK_FOR_WEAR[1:]}"
        )
        figure = Figure("difference at one speed", apart.apart_deg, "degrees")
        return Verdict(VerdictKind.SCATTER_OR_MARK, sentence, (figure,))

    def _changes_with_speed(self) -> Verdict | None:
        earliest = min(self.by_speed, key=lambda at: at.mean_deg)
        latest = max(self.by_speed, key=lambda at: at.mean_deg)
        moves = latest.mean_deg - earliest.mean_deg
        if not exceeds(moves, self.session.tolerance):
            return None
        figure = Figure("difference between speeds", moves, "degrees")
        later = latest.rpm > earliest.rpm
        fast, slow = (latest, earliest) if later else (earliest, latest)
        sentence = (
            f"Not proven: the timing is not flat. At {fast.rpm:.0f} rpm the spark is {moves:.1f}° "
            f"{'later' if later else 'earlier'} than at {slow.rpm:.0f} rpm, {self.session.tolerance:.1f}° is allowed."
        )
        if not later:
            # Weights, vacuum and a curve that is not flat all advance the spark as the speed rises.
            checks = (
                "Read both again. If it stays, check that the curve is flat, the vacuum pipe off and the mechanism "
                "locked."
            )
            return Verdict(VerdictKind.CURVE_NOT_FLAT, f"{sentence} {checks} {DO_NOT_TURN}", (figure,))
        delay = self._delay()
        if delay is None:
            checks = "Read both again. If it stays, check that the curve is flat and try another strobe."
            return Verdict(VerdictKind.CURVE_NOT_FLAT, f"{sentence} {checks} {DO_NOT_TURN}", (figure,))
        advice = about_a_delay(self.session.lamp, later=True, unit_takes_delay=self.session.unit_takes_delay)
        cause = f"It grows with speed: suspect a delay of about {delay.value:.0f} µs, of the lamp or of the unit."
        return Verdict(VerdictKind.LAG, f"{sentence} {cause} {advice} {DO_NOT_TURN}", (delay, figure))

    def _delay(self) -> Figure | None:
        """The constant delay by which the spark comes later with speed, if the readings lie along one."""
        line = self.session.line()
        off = max(
            abs(at.mean_deg - line.coefficients[0] - line.coefficients[1] * _DEG_PER_S_AND_RPM * at.rpm)
            for at in self.by_speed
        )
        if not exceeds(line.coefficients[1], 0.0) or exceeds(off, self.session.tolerance / 2.0):
            return None
        interval = line.interval(1, self.session.limits.confidence)
        in_us = None if interval is None else (interval[0] * _US_PER_S, interval[1] * _US_PER_S)
        return Figure(DELAY, line.coefficients[1] * _US_PER_S, "µs", in_us)

    def _level(self) -> Verdict:
        tolerance = self.session.tolerance
        known = f"{late_or_early(self.mean)}{likely(self.interval)}"
        figures = (self._average(), Figure("largest single error", self.worst, "degrees"))
        low, high = self.interval or (-math.inf, math.inf)
        inside = not falls_short(low, -tolerance) and not exceeds(high, tolerance)
        if inside and not exceeds(abs(self.worst), tolerance):
            sentence = (
                f"Base timing proven: on average the spark is {known}. No reading is more than "
                f"{abs(self.worst):.1f}° off, {tolerance:.1f}° is allowed. {LEAVE_IT}"
            )
            return Verdict(VerdictKind.WITHIN_TOLERANCE, sentence, figures)
        if exceeds(abs(self.mean), tolerance) or exceeds(low, 0.0) or falls_short(high, 0.0):
            turn = self.mean / self.session.crank_turns
            allowed = f"{tolerance:.1f}° is allowed."
            if not exceeds(abs(self.mean), tolerance):
                allowed = f"The likely range must lie within {tolerance:.1f}°."
            sentence = f"Not proven: on average the spark is {known}. {allowed} {turn_the_body(turn)}"
            return Verdict(VerdictKind.RESET, sentence, figures, turn_dist_deg=turn)
        known = f"{late_or_early(self.mean)}, known to ±{(high - low) / 2.0:.1f}°. {tolerance:.1f}° is allowed."
        if exceeds(abs(self.worst), tolerance):
            known += f" One reading is {abs(self.worst):.1f}° off."
        sentence = f"Not proven yet: on average the spark is {known} Read each speed again."
        return Verdict(VerdictKind.MORE_READINGS, sentence, figures)
