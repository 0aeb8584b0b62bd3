"""One verdict on a strobe session, by a fixed order of rules: what it is, what to do, on which figures it rests.

The first rule that holds decides: too few readings; a mechanism that is not locked; scatter or a wrong mark; a mean
not known well enough; a delay; a distributor to be turned; within tolerance. A verdict that hangs on a single reading
which all others contradict is not given: that reading is named, to be taken again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import NamedTuple

from timing.regression import student_t_two_sided
from timing.strobe.advice import (
    DO_NOT_TURN,
    LEAVE_IT,
    LOOK_FOR_WEAR,
    MARK_AGAIN,
    about_a_delay,
    are_apart,
    capitalised,
    late_or_early,
    likely,
    mark_is_off,
    span,
    turn_the_body,
)
from timing.strobe.fit import StrobeFit
from timing.strobe.outlier import Outlier
from timing.strobe.readings import LampKind, largest_disagreement
from timing.tolerance import exceeds, falls_short

# Readings at the ends settle a line best, and a few between would show that it is none.
_SPREAD = "most at the lowest and highest speeds, two between"

AVERAGE = "average error (late +)"
FIXED_OFFSET = "fixed offset"
DELAY = "delay"

# A session longer than this is not asked for: if the mean is still not known, the scatter is the matter.
_MOST_READINGS_ASKED = 40


class VerdictKind(StrEnum):
    """What a session comes to."""

    MORE_READINGS = "more_readings"
    MECHANISM_NOT_LOCKED = "mechanism_not_locked"
    SCATTER_OR_MARK = "scatter_or_mark"
    LAG = "lag"
    RESET = "reset"
    WITHIN_TOLERANCE = "within_tolerance"
    OUTLIER = "outlier"
    CURVE_NOT_FLAT = "curve_not_flat"


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure a verdict rests on: what it is, its value and unit, and its likely range where there is one."""

    what: str
    value: float
    unit: str
    interval: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the readings say and what to do about it.

    Attributes
    ----------
    kind : VerdictKind
        For the machine.
    sentence : str
        For the mechanic: what it is and what to do.
    figures : tuple of Figure
        What the verdict rests on.
    turn_dist_deg : float or None
        By how much to turn the distributor body, in the advancing direction if positive; None if it is not to be
        turned yet. [degrees of the distributor]
    then : Verdict or None
        What follows once this is put right, as far as the readings tell: after a delay, the rest without it.
    without_outlier : Verdict or None
        The verdict of all readings but the one that the others contradict, if there is one.
    """

    kind: VerdictKind
    sentence: str
    figures: tuple[Figure, ...] = ()
    turn_dist_deg: float | None = None
    then: Verdict | None = None
    without_outlier: Verdict | None = None

    @property
    def holds(self) -> bool:
        """Whether the work may go on: the timing is within tolerance, and no reading speaks against it."""
        return self.kind is VerdictKind.WITHIN_TOLERANCE and self.without_outlier is None

    def __str__(self) -> str:
        return self.sentence


def judge(fit: StrobeFit, *, unit_takes_delay: bool = False, lamp: LampKind | None = None) -> Verdict:
    """What the readings of a session say and what to do about it, by the order of rules of this module.

    Parameters
    ----------
    fit : StrobeFit
        The readings against their map.
    unit_takes_delay : bool
        Whether the fitted unit has an entry for a delay: only then is it advised to enter one.
    lamp : LampKind or None
        The lamp it was read with, None if that is not known.

    Returns
    -------
    Verdict
        Of any kind but curve_not_flat.

    Notes
    -----
    The fitted line is judged between the lowest and the highest speed that were read, never at standstill. Limits:
    common practice, no source.
    """
    rules = _Rules(fit, unit_takes_delay, lamp)
    outlier = fit.outlier
    if outlier is None:
        return rules.verdict()
    with_it = rules.verdict()
    without = _Rules(fit.without(outlier.place), unit_takes_delay, lamp).verdict()
    contradicts = f"{describe_outlier(outlier)}. "
    figures = (Figure("outlier against the others", outlier.off_deg, "degrees"),)
    if without.kind is with_it.kind:
        return replace(
            without,
            sentence=f"{without.sentence} {contradicts}It was left out of this: take it again.",
            figures=(*figures, *without.figures),
            without_outlier=without,
        )
    return Verdict(
        VerdictKind.OUTLIER,
        f"{contradicts}Take it again before anything is changed.",
        (*figures, *with_it.figures),
        without_outlier=without,
    )


def describe_outlier(outlier: Outlier) -> str:
    """The sentence that names a reading which the others contradict, without its full stop."""
    return (
        f"Reading {outlier.place + 1} ({outlier.rpm:.0f} rpm) is {late_or_early(outlier.off_deg)} "
        f"against {outlier.against}"
    )


class _MeanLine(NamedTuple):
    """The fitted line at the two ends of the speeds read: how late it is at each. [degrees of crank]"""

    at_lowest: float
    at_highest: float

    @property
    def middle(self) -> float:
        return (self.at_lowest + self.at_highest) / 2.0

    @property
    def half_swing(self) -> float:
        return abs(self.at_highest - self.at_lowest) / 2.0


@dataclass(frozen=True, slots=True)
class _Rules:
    fit: StrobeFit
    unit_takes_delay: bool
    lamp: LampKind | None

    def verdict(self) -> Verdict:
        return (
            self._too_few()
            or self._not_locked()
            or self._scatter_or_mark()
            or self._not_known_well()
            or self._delay()
            or self._level()
        )

    def _too_few(self) -> Verdict | None:
        fit, limits = self.fit, self.fit.limits
        count, width = len(fit.rpm), fit.span_rpm
        if count >= limits.least_readings and not falls_short(width, limits.least_span_rpm) and fit.line is not None:
            return None
        if fit.at_one_speed:
            have = f"{_readings(count)} at one speed cannot tell a fixed offset from a delay"
        elif count < limits.least_readings:
            have = f"{_readings(count)} are too few"
        else:
            have = f"{_readings(count)} within {width:.0f} rpm are too close together"
        sentence = (
            f"More readings: {have}. On average the spark is {late_or_early(fit.mean_deg)}{likely(fit.mean_interval)}. "
            f"Take {limits.least_lag_readings} or more over at least {limits.least_span_rpm:.0f} rpm, {_SPREAD}."
        )
        return Verdict(VerdictKind.MORE_READINGS, sentence, (self._average(),))

    def _not_locked(self) -> Verdict | None:
        shape, interval = self.fit.shape, self.fit.shape_interval
        if shape is None or interval is None or not falls_short(shape, -self.fit.limits.shape_share):
            return None
        if not _excludes_zero(interval):
            return None
        sentence = (
            f"Suspect that the mechanism is not locked: {-100 * shape:.0f} % of the old centrifugal advance shows "
            f"(likely {-100 * interval[1]:.0f} to {-100 * interval[0]:.0f} %). Check the lock. {DO_NOT_TURN}"
        )
        return Verdict(
            VerdictKind.MECHANISM_NOT_LOCKED, sentence, (Figure("share of the old curve", shape, "", interval),)
        )

    def _scatter_or_mark(self) -> Verdict | None:
        fit, limits = self.fit, self.fit.limits
        reasons: list[str] = []
        figures: list[Figure] = []
        scatters = fit.scatter_deg is not None and exceeds(fit.scatter_deg, limits.scatter_deg)
        if fit.scatter_deg is not None and scatters:
            reasons.append(f"the readings scatter by {fit.scatter_deg:.1f}°, {limits.scatter_deg:.1f}° is the limit")
            figures.append(Figure("scatter", fit.scatter_deg, "degrees"))
        apart = largest_disagreement(rpm=fit.rpm, residuals=fit.residuals, same_speed_rpm=limits.same_speed_rpm)
        if apart is not None and exceeds(apart.apart_deg, limits.repeat_deg):
            reasons.append(are_apart(apart.apart_deg, rpm=apart.rpm, limit_deg=limits.repeat_deg))
            figures.append(Figure("difference at one speed", apart.apart_deg, "degrees"))
        wrong_mark = fit.mark_error_deg is not None and exceeds(abs(fit.mark_error_deg), limits.mark_deg)
        if fit.mark_error_deg is not None and wrong_mark:
            reasons.append(mark_is_off(fit.mark_error_deg, limits.mark_deg))
            figures.append(Figure("timing mark against piston stop", fit.mark_error_deg, "degrees"))
        if not reasons:
            return None
        parts = ["Suspect scatter or the mark.", *(f"{capitalised(reason)}." for reason in reasons)]
        parts.append(MARK_AGAIN if wrong_mark else f"{LOOK_FOR_WEAR} Then read again.")
        if scatters and fit.shape_unknown is not None:
            parts.append(f"The mechanism may still move: {fit.shape_unknown}. Check the lock too.")
        return Verdict(VerdictKind.SCATTER_OR_MARK, " ".join(parts), tuple(figures))

    def _not_known_well(self) -> Verdict | None:
        fit = self.fit
        # The half width is convex in speed: it is widest at one end of the range read.
        ends = (min(fit.rpm), max(fit.rpm))
        widest, at = max((float(fit.mean_at(end).half_width_deg), end) for end in ends)
        if exceeds(widest, fit.tolerance):
            sentence = (
                f"More readings: at {at:.0f} rpm the average is known only to ±{widest:.1f}°, {fit.tolerance:.1f}° is "
                f"the tolerance. {_how_many_more(fit)}"
            )
            figures = (Figure("average known to within", widest, "degrees"),)
            return Verdict(VerdictKind.MORE_READINGS, sentence, figures)
        interval = fit.lag_interval_of_line
        if fit.lag_unknown is not None and interval is not None and _beyond(interval, fit.limits.lag_us):
            sentence = f"More readings: the error changes with speed. But {fit.lag_unknown}. Take more, {_SPREAD}."
            return Verdict(VerdictKind.MORE_READINGS, sentence, (self._average(),))
        return None

    def _delay(self) -> Verdict | None:
        fit = self.fit
        sync, lag, interval = fit.sync_deg, fit.lag_us, fit.lag_interval
        if sync is None or lag is None or interval is None:
            return None
        line = _line_at_the_ends(fit)
        worst, at = _worst(fit, line)
        sure = _beyond(interval, fit.limits.lag_us)
        # A delay that is real, though perhaps below its limit, may take the timing out of tolerance at one end where
        # the fixed offset is small, or at both ends however the distributor is turned.
        turning_mends = exceeds(abs(sync), fit.tolerance) and not exceeds(line.half_swing, fit.tolerance)
        carries_out = _excludes_zero(interval) and exceeds(abs(worst), fit.tolerance) and not turning_mends
        if not (sure or carries_out):
            return None
        by = f"as the speed rises, by {abs(lag):.0f} µs (likely {span(interval, digits=0)})."
        parts = [f"Suspect a delay: the spark comes later {by}" if lag > 0 else f"The spark comes earlier {by}"]
        parts.append(f"At {at:.0f} rpm it is {late_or_early(worst)} in all.")
        if lag < 0 and fit.shape_unknown is not None:
            parts.append(f"A mechanism that still moves looks the same: {fit.shape_unknown}. Check the lock first.")
        parts.append(about_a_delay(self.lamp, later=lag > 0, unit_takes_delay=self.unit_takes_delay))
        figures = (Figure(DELAY, lag, "µs", interval), Figure(FIXED_OFFSET, sync, "degrees", fit.sync_interval))
        then = self._without_delay(sync, fit.sync_interval)
        return Verdict(VerdictKind.LAG, " ".join(parts), figures, then=then)

    def _without_delay(self, sync: float, interval: tuple[float, float] | None) -> Verdict:
        """What is left once the delay is taken out: an offset that is the same at every speed."""
        figures = (Figure(FIXED_OFFSET, sync, "degrees", interval),)
        sentence = f"Apart from the delay the spark is {late_or_early(sync)}{likely(interval)}."
        if exceeds(abs(sync), self.fit.tolerance):
            return self._reset(sentence, sync, figures)
        return Verdict(VerdictKind.WITHIN_TOLERANCE, f"{sentence} That passes.", figures)

    def _level(self) -> Verdict:
        fit = self.fit
        lowest, highest = min(fit.rpm), max(fit.rpm)
        where = f"from {lowest:.0f} to {highest:.0f} rpm"
        line = _line_at_the_ends(fit)
        worst, at = _worst(fit, line)
        mean = fit.mean_at(at)
        worst_figure = Figure("largest average error", worst, "degrees", (float(mean.low_deg), float(mean.high_deg)))
        lag_interval = fit.lag_interval_of_line
        if lag_interval is not None and _excludes_zero(lag_interval):
            # Turning shifts both ends alike, so it is their middle that has to come to nothing.
            if exceeds(abs(worst), fit.tolerance):
                at_middle = fit.mean_at((lowest + highest) / 2.0)
                figures = (
                    Figure(FIXED_OFFSET, line.middle, "degrees", (float(at_middle.low_deg), float(at_middle.high_deg))),
                    worst_figure,
                )
                ends = f"{late_or_early(line.at_lowest)} at {lowest:.0f} rpm and {late_or_early(line.at_highest)}"
                return self._reset(f"The spark is {ends} at {highest:.0f} rpm.", line.middle, figures)
            sentence = f"the spark is at most {late_or_early(worst)}{likely(worst_figure.interval)}, at {at:.0f} rpm"
            return self._within(sentence, (self._average(), worst_figure))
        offset = Figure(FIXED_OFFSET, fit.mean_deg, "degrees", fit.mean_interval)
        known = f"{late_or_early(fit.mean_deg)}{likely(fit.mean_interval)}"
        if exceeds(abs(fit.mean_deg), fit.tolerance):
            return self._reset(f"The spark is {known} {where}.", fit.mean_deg, (offset,))
        verdict = self._within(f"on average the spark is {known} {where}", (offset, worst_figure))
        if not exceeds(abs(worst), fit.tolerance):
            return verdict
        lean = (
            f"The readings lean to {late_or_early(worst)} at {at:.0f} rpm, which scatter may explain. "
            "More readings there would tell."
        )
        return replace(verdict, sentence=f"{verdict.sentence} {lean}")

    def _within(self, sentence: str, figures: tuple[Figure, ...]) -> Verdict:
        sentence = f"Pass: {sentence}. {self.fit.tolerance:.1f}° is allowed. {LEAVE_IT}"
        return Verdict(VerdictKind.WITHIN_TOLERANCE, sentence, figures)

    def _reset(self, sentence: str, offset: float, figures: tuple[Figure, ...]) -> Verdict:
        turn = offset / self.fit.crank_turns
        return Verdict(VerdictKind.RESET, f"{sentence} {turn_the_body(turn)}", figures, turn_dist_deg=turn)

    def _average(self) -> Figure:
        return Figure(AVERAGE, self.fit.mean_deg, "degrees", self.fit.mean_interval)


def _how_many_more(fit: StrobeFit) -> str:
    """How many readings should do, half of them at each end.

    There each of n readings has the weight 2 / n in the mean, half of them, so the half width of its interval is
    Student's t times s sqrt(2 / n), and half a step of the scale beside it.
    """
    step = fit.step_deg
    if not falls_short(step / 2.0, fit.tolerance):
        return "The scale is too coarse for that: read a finer one."
    scatter = max(fit.scatter_deg or 0.0, step / math.sqrt(12.0))
    for total in range(len(fit.rpm) + 2, _MOST_READINGS_ASKED + 1, 2):
        by_scatter = student_t_two_sided(fit.limits.confidence, total - 2) * scatter * math.sqrt(2.0 / total)
        if not exceeds(math.hypot(by_scatter, step / 2.0), fit.tolerance):
            return f"About {total} in all should do, {_SPREAD}."
    return "The readings scatter too much for more of them to help: look for the cause first."


def _line_at_the_ends(fit: StrobeFit) -> _MeanLine:
    low, high = (float(fit.mean_at(end).mean_deg) for end in (min(fit.rpm), max(fit.rpm)))
    return _MeanLine(low, high)


def _worst(fit: StrobeFit, line: _MeanLine) -> tuple[float, float]:
    """The largest error of the line within the speeds read, which is at one of their ends, and that speed."""
    if abs(line.at_highest) >= abs(line.at_lowest):
        return line.at_highest, max(fit.rpm)
    return line.at_lowest, min(fit.rpm)


def _beyond(interval: tuple[float, float], limit: float) -> bool:
    return exceeds(interval[0], limit) or falls_short(interval[1], -limit)


def _excludes_zero(interval: tuple[float, float]) -> bool:
    return _beyond(interval, 0.0)


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"
