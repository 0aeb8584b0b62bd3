"""Proving base timing: the unit's curve flat, a few strobe readings at two speeds."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.crank import crank_from_distributor
from timing.inputs import number
from timing.regression import student_t_two_sided
from timing.strobe.limits import DEFAULT_LIMITS, StrobeLimits
from timing.strobe.readings import LARGEST_ADVANCE_DEG, checked_mark_error, checked_readings
from timing.strobe.verdict import (
    MARK_AGAIN,
    Figure,
    Verdict,
    VerdictKind,
    between,
    largest_disagreement,
    late_or_early,
    mark_is_off,
    turn_the_body,
)


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
        Wanted minus measured, in the order given. [degrees of crank, late positive]
    by_speed : tuple of SpeedMean
        From the lowest speed to the highest.
    mean_deg : float
        Mean of all residuals. [degrees of crank, late positive]
    interval : tuple of float, or None
        Lowest and highest believable mean, never narrower than the step of the scale; None for a single reading.
    worst_deg : float
        The residual furthest from 0. [degrees of crank, late positive]
    verdict : Verdict
        Of kind within_tolerance (proven), more_readings, scatter_or_mark, curve_not_flat or reset.
    """

    residuals: tuple[float, ...]
    by_speed: tuple[SpeedMean, ...]
    mean_deg: float
    interval: tuple[float, float] | None
    worst_deg: float
    verdict: Verdict


def prove_base(
    rpm: ArrayLike,
    measured: ArrayLike,
    base_deg: float,
    tolerance: float = 1.0,
    *,
    mark_error_deg: float | None = None,
    strokes: int = 4,
    limits: StrobeLimits = DEFAULT_LIMITS,
) -> BaseProof:
    """Whether a few strobe readings with the curve flat prove the base timing.

    Proven means: read at two speeds or more, every reading within tolerance, the speeds in agreement with each
    other, and the interval of the mean inside the tolerance.

    Parameters
    ----------
    rpm : array, shape (n,)
        Engine speeds, above 0, in any order, at least one. [rpm at the crank]
    measured : array, shape (n,)
        Advance read with the strobe. [degrees of crank before top dead centre]
    base_deg : float
        The base timing the unit was told. [degrees of crank before top dead centre]
    tolerance : float
        Largest error accepted, above 0. [degrees of crank]
    mark_error_deg : float, optional
        By how much the timing mark disagrees with the piston stop, if that was measured. [degrees of crank]
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.
    limits : StrobeLimits
        What the workshop asks; used here: confidence, mark_deg, repeat_deg, same_speed_rpm, base_span_rpm and
        scale_step_deg.

    Raises
    ------
    StrobeError
        If lists differ in length, or there is no reading.
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    Interval: mean plus or minus t s / sqrt(n), the error taken as the same at every speed once the speeds agree.
    Two to five readings on a coarse scale are often equal, which would give an interval of nothing: it is never
    taken narrower than half a step of the scale to either side. Acceptance: common practice, no source.
    """
    speeds, seen = checked_readings(rpm, measured)
    base = number(base_deg, "base timing", low=-LARGEST_ADVANCE_DEG, high=LARGEST_ADVANCE_DEG, unit="degrees")
    # 16.1 less 15.1 is more than 1 by the last bit, and would fail a tolerance of 1 that it meets.
    residuals = tuple(np.round(base - seen, 12).tolist())
    mean = math.fsum(residuals) / len(residuals)
    interval = _interval(residuals, mean, limits)
    by_speed = _by_speed(tuple(speeds.tolist()), residuals, limits.same_speed_rpm)
    worst = max(residuals, key=abs)
    session = _Session(
        rpm=tuple(speeds.tolist()),
        residuals=residuals,
        by_speed=by_speed,
        mean=mean,
        interval=interval,
        worst=worst,
        tolerance=number(tolerance, "the tolerance", above=0.0, unit="degrees"),
        mark_error=checked_mark_error(mark_error_deg),
        crank_turns=float(crank_from_distributor(1.0, strokes)),
        limits=limits,
    )
    return BaseProof(residuals, by_speed, mean, interval, worst, session.verdict())


def _interval(residuals: tuple[float, ...], mean: float, limits: StrobeLimits) -> tuple[float, float] | None:
    count = len(residuals)
    if count < 2:
        return None
    scatter = float(np.std(residuals, ddof=1))
    half = student_t_two_sided(limits.confidence, count - 1) * scatter / math.sqrt(count)
    half = max(half, limits.scale_step_deg / 2.0)
    return mean - half, mean + half


def _by_speed(rpm: tuple[float, ...], residuals: tuple[float, ...], same_speed_rpm: float) -> tuple[SpeedMean, ...]:
    groups: list[list[tuple[float, float]]] = []
    for speed, residual in sorted(zip(rpm, residuals, strict=True)):
        if groups and speed - groups[-1][0][0] <= same_speed_rpm:
            groups[-1].append((speed, residual))
        else:
            groups.append([(speed, residual)])
    return tuple(
        SpeedMean(
            math.fsum(speed for speed, _ in group) / len(group),
            math.fsum(residual for _, residual in group) / len(group),
            len(group),
        )
        for group in groups
    )


@dataclass(frozen=True, slots=True)
class _Session:
    rpm: tuple[float, ...]
    residuals: tuple[float, ...]
    by_speed: tuple[SpeedMean, ...]
    mean: float
    interval: tuple[float, float] | None
    worst: float
    tolerance: float
    mark_error: float | None
    crank_turns: float
    limits: StrobeLimits

    def verdict(self) -> Verdict:
        return self._mark() or self._too_few() or self._scatter() or self._not_flat() or self._level()

    def _mean_figure(self) -> Figure:
        return Figure("mean error", self.mean, "degrees", self.interval)

    def _mark(self) -> Verdict | None:
        # First of all: readings against a wrong mark prove nothing, however many there are.
        if self.mark_error is None or abs(self.mark_error) <= self.limits.mark_deg:
            return None
        sentence = f"Not proven: {mark_is_off(self.mark_error, self.limits.mark_deg)}; {MARK_AGAIN}, then read again."
        figure = Figure("timing mark against piston stop", self.mark_error, "degrees")
        return Verdict(VerdictKind.SCATTER_OR_MARK, sentence, (figure,))

    def _too_few(self) -> Verdict | None:
        span, wanted = self.by_speed[-1].rpm - self.by_speed[0].rpm, self.limits.base_span_rpm
        if len(self.by_speed) > 1 and span >= wanted:
            return None
        apart = "all readings are at one speed" if len(self.by_speed) == 1 else f"the speeds are {span:.0f} rpm apart"
        sentence = (
            f"Not proven: {apart}, and on average the spark is {late_or_early(self.mean)}; read at a second speed "
            f"{wanted:.0f} rpm or more away."
        )
        return Verdict(VerdictKind.MORE_READINGS, sentence, (self._mean_figure(),))

    def _scatter(self) -> Verdict | None:
        apart = largest_disagreement(self.rpm, self.residuals, self.limits.same_speed_rpm)
        if apart is None or apart[0] <= self.limits.repeat_deg:
            return None
        sentence = (
            f"Not proven: two readings at {apart[1]:.0f} rpm are {apart[0]:.1f}° apart, "
            f"{self.limits.repeat_deg:.1f}° is the limit; read that speed again, and if they stay apart check for "
            "shaft play, a worn drive and a weak strobe trigger."
        )
        figure = Figure("difference at one speed", apart[0], "degrees")
        return Verdict(VerdictKind.SCATTER_OR_MARK, sentence, (figure,))

    def _not_flat(self) -> Verdict | None:
        earliest = min(self.by_speed, key=lambda at: at.mean_deg)
        latest = max(self.by_speed, key=lambda at: at.mean_deg)
        moves = latest.mean_deg - earliest.mean_deg
        if moves <= self.tolerance:
            return None
        sentence = (
            f"Not proven: the timing is not flat, at {latest.rpm:.0f} rpm the spark is {moves:.1f}° later than at "
            f"{earliest.rpm:.0f} rpm, {self.tolerance:.1f}° is allowed; read both again, and if it stays check that "
            "the unit's curve is flat, the vacuum pipe off and the mechanism locked, and try another strobe; do not "
            "turn the distributor."
        )
        figure = Figure("difference between speeds", moves, "degrees")
        return Verdict(VerdictKind.CURVE_NOT_FLAT, sentence, (figure,))

    def _level(self) -> Verdict:
        low, high = self.interval or (-math.inf, math.inf)
        known = f" ({between((low, high))})" if self.interval else ""
        figures = (self._mean_figure(), Figure("largest single error", self.worst, "degrees"))
        if abs(self.worst) <= self.tolerance and low >= -self.tolerance and high <= self.tolerance:
            sentence = (
                f"Base timing proven: on average the spark is {late_or_early(self.mean)}{known}, no reading is more "
                f"than {abs(self.worst):.1f}° off, {self.tolerance:.1f}° is allowed; leave the distributor as it is."
            )
            return Verdict(VerdictKind.WITHIN_TOLERANCE, sentence, figures)
        if abs(self.mean) > self.tolerance or low > 0.0 or high < 0.0:
            turn = self.mean / self.crank_turns
            sentence = (
                f"Not proven: on average the spark is {late_or_early(self.mean)}{known}, {self.tolerance:.1f}° is "
                f"allowed. {turn_the_body(turn)}"
            )
            return Verdict(VerdictKind.RESET, sentence, figures, turn_deg=turn)
        half = (high - low) / 2.0
        sentence = (
            f"Not proven yet: on average the spark is {late_or_early(self.mean)}, but that is known only to "
            f"±{half:.1f}° and one reading is {abs(self.worst):.1f}° off, {self.tolerance:.1f}° is allowed; read each "
            "speed again."
        )
        return Verdict(VerdictKind.MORE_READINGS, sentence, figures)
