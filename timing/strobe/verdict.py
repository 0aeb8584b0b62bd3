"""One verdict on a strobe session, by a fixed order of rules: what it is, what to do, on which figures it rests.

The first rule that holds decides: too few readings; a mechanism that is not locked; scatter or a wrong mark; a mean
not known well enough; a lag; a distributor to be turned; within tolerance. A verdict that hangs on a single reading
which all others contradict is not given: that reading is named, to be taken again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from timing.regression import student_t_two_sided

if TYPE_CHECKING:
    from timing.strobe.fit import StrobeFit

# Readings at the ends settle a line best, and a few between would show that it is none.
_SPREAD = "most of them at the lowest and the highest speeds, two between"

# Far below what any scale shows, far above what a sum of readings loses to rounding.
_ROUNDING_DEG = 1e-9

_SYNC = "error that is the same at every speed"

MARK_AGAIN = "mark the true dead centre again and look for a slipped damper ring before any reading is trusted"

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
    WILD_READING = "wild_reading"
    CURVE_NOT_FLAT = "curve_not_flat"


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure a verdict rests on: what it is, its value and unit, and its interval where there is one."""

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
    turn_deg : float or None
        By how much to turn the distributor body, in the advancing direction if positive; None if it is not to be
        turned yet. [degrees of the distributor]
    then : Verdict or None
        What follows once this is put right, as far as the readings tell: after a lag, the rest without it.
    without_wild : Verdict or None
        The verdict of all readings but the one that the others contradict, if there is one.
    with_wild : Verdict or None
        The verdict of all readings, where it hangs on that one.
    """

    kind: VerdictKind
    sentence: str
    figures: tuple[Figure, ...] = ()
    turn_deg: float | None = None
    then: Verdict | None = None
    without_wild: Verdict | None = None
    with_wild: Verdict | None = None

    @property
    def holds(self) -> bool:
        """Whether the work may go on: the timing is within tolerance, and no reading speaks against it."""
        return self.kind is VerdictKind.WITHIN_TOLERANCE and self.without_wild is None

    def __str__(self) -> str:
        return self.sentence


def judge(fit: StrobeFit) -> Verdict:
    """The verdict on `fit`, by the handbook's order of rules; see the module."""
    verdict = _by_order_of_rules(fit)
    wild = fit.wild
    if wild is None:
        return verdict
    without = _by_order_of_rules(fit.without(wild.place))
    odd = (
        f"Reading {wild.place + 1} ({wild.rpm:.0f} rpm) is {late_or_early(wild.off_deg)} against the line of the others"
    )
    figure = Figure("the odd reading against the line of the others", wild.off_deg, "degrees")
    if without.kind is not verdict.kind:
        sentence = (
            f"{odd}: take it again before anything is changed. Without it: {without.sentence} "
            f"If it comes out the same: {verdict.sentence}"
        )
        return Verdict(
            VerdictKind.WILD_READING, sentence, (figure, *verdict.figures), without_wild=without, with_wild=verdict
        )
    return replace(
        without,
        sentence=f"{without.sentence} {odd} and was left out of this: take it again.",
        figures=(figure, *without.figures),
        without_wild=without,
    )


def _by_order_of_rules(fit: StrobeFit) -> Verdict:
    rules = (_too_few, _not_locked, _scatter_or_mark, _not_known_well, _lag)
    for rule in rules:
        verdict = rule(fit)
        if verdict is not None:
            return verdict
    return _reset_or_within(fit)


def _too_few(fit: StrobeFit) -> Verdict | None:
    limits = fit.limits
    count, span = len(fit.rpm), fit.span_rpm
    if count >= limits.least_readings and span >= limits.least_span_rpm and fit.line is not None:
        return None
    if fit.at_one_speed:
        have = f"{_readings(count)} at one speed cannot tell a constant error from one that grows with speed"
    elif count < limits.least_readings:
        have = f"{_readings(count)} are too few"
    else:
        have = f"{_readings(count)} within {span:.0f} rpm are too close together"
    interval = fit.mean_interval
    known = f"on average the spark is {late_or_early(fit.mean_deg)}"
    if interval is not None:
        known += f" ({between(interval)})"
    sentence = (
        f"More readings: {have}, and {known}; take {limits.least_lag_readings} or more over at least "
        f"{limits.least_span_rpm:.0f} rpm, {_SPREAD}."
    )
    return Verdict(VerdictKind.MORE_READINGS, sentence, (_mean_figure(fit),))


def _not_locked(fit: StrobeFit) -> Verdict | None:
    shape, t, interval = fit.shape, fit.shape_t, fit.shape_interval
    if shape is None or t is None or interval is None or fit.with_shape is None:
        return None
    if shape >= -fit.limits.shape_share:
        return None
    if abs(t) <= student_t_two_sided(fit.limits.confidence, fit.with_shape.df):
        return None
    sentence = (
        f"Suspect that the mechanism is not locked: {-100 * shape:.0f} % of the old centrifugal advance shows in the "
        f"readings ({-100 * interval[1]:.0f} to {-100 * interval[0]:.0f} %); check the lock, and do not turn the "
        "distributor."
    )
    figures = (Figure("share of the old curve", shape, "", interval), Figure("share over its standard error", t, ""))
    return Verdict(VerdictKind.MECHANISM_NOT_LOCKED, sentence, figures)


def _scatter_or_mark(fit: StrobeFit) -> Verdict | None:
    limits = fit.limits
    reasons: list[str] = []
    figures: list[Figure] = []
    checks = "check for shaft play, a worn drive and a weak strobe trigger"
    if fit.scatter_deg is not None and fit.scatter_deg > limits.scatter_deg:
        reasons.append(
            f"the readings scatter by {fit.scatter_deg:.1f}° about any line, {limits.scatter_deg:.1f}° is the limit"
        )
        figures.append(Figure("scatter", fit.scatter_deg, "degrees"))
    apart = largest_disagreement(fit.rpm, fit.residuals, limits.same_speed_rpm)
    if apart is not None and apart[0] > limits.repeat_deg:
        reasons.append(
            f"two readings at {apart[1]:.0f} rpm are {apart[0]:.1f}° apart, {limits.repeat_deg:.1f}° is the limit"
        )
        figures.append(Figure("difference at one speed", apart[0], "degrees"))
    if fit.mark_error_deg is not None and abs(fit.mark_error_deg) > limits.mark_deg:
        reasons.append(mark_is_off(fit.mark_error_deg, limits.mark_deg))
        figures.append(Figure("timing mark against piston stop", fit.mark_error_deg, "degrees"))
        checks = MARK_AGAIN
    if not reasons:
        return None
    sentence = f"Suspect scatter or the mark: {', and '.join(reasons)}; {checks}, then read again."
    if fit.shape_unknown is not None and fit.scatter_deg is not None and fit.scatter_deg > limits.scatter_deg:
        sentence += f" A mechanism that still moves cannot be ruled out ({fit.shape_unknown}): check the lock too."
    return Verdict(VerdictKind.SCATTER_OR_MARK, sentence, tuple(figures))


def _not_known_well(fit: StrobeFit) -> Verdict | None:
    # The half width is convex in speed: it is widest at one end of the range read.
    ends = (min(fit.rpm), max(fit.rpm))
    worst, at = max((float(fit.mean_at(end).half_width_deg), end) for end in ends)
    if worst > fit.tolerance:
        sentence = (
            f"More readings: at {at:.0f} rpm the mean is known only to ±{worst:.1f}°, {fit.tolerance:.1f}° is the "
            f"tolerance; {_how_many_more(fit)}."
        )
        return Verdict(VerdictKind.MORE_READINGS, sentence, (Figure("half width of the mean", worst, "degrees"),))
    interval = fit.lag_interval_of_line
    if fit.lag_unknown is not None and interval is not None and _beyond(interval, fit.limits.lag_us):
        sentence = f"More readings: the error changes with speed, but {fit.lag_unknown}; take more, {_SPREAD}."
        return Verdict(VerdictKind.MORE_READINGS, sentence, (_mean_figure(fit),))
    return None


def _lag(fit: StrobeFit) -> Verdict | None:
    sync, lag, interval = fit.sync_deg, fit.lag_us, fit.lag_interval
    if sync is None or lag is None or interval is None:
        return None
    worst, at = _worst_of_mean(fit)
    sure = _beyond(interval, fit.limits.lag_us)
    # A lag that is real, though perhaps below its limit, may alone carry the highest speed out of tolerance.
    carries_out = _excludes_zero(interval) and not _exceeds(sync, fit.tolerance) and _exceeds(worst, fit.tolerance)
    if not (sure or carries_out):
        return None
    grows = "later" if lag > 0 else "earlier"
    sentence = (
        f"Suspect lag: the spark is seen {grows} as the speed rises, by {abs(lag):.0f} µs "
        f"({min(map(abs, interval)):.0f} to {max(map(abs, interval)):.0f}), on the whole {late_or_early(worst)} at "
        f"{at:.0f} rpm; "
    )
    if lag < 0 and fit.shape_unknown is not None:
        sentence += f"a mechanism that still moves would look the same ({fit.shape_unknown}), so check the lock first; "
    sentence += "repeat with another strobe or lead, and if it stays, enter it in the unit."
    then = _reset_or_within(fit, lag_removed=True)
    figures = (Figure("lag", lag, "µs", interval), Figure(_SYNC, sync, "degrees", fit.sync_interval))
    return Verdict(VerdictKind.LAG, sentence, figures, then=then)


def _reset_or_within(fit: StrobeFit, lag_removed: bool = False) -> Verdict:
    lag_interval = fit.lag_interval_of_line
    by_line = lag_interval is not None and _excludes_zero(lag_interval)
    sync = fit.sync_deg if by_line and fit.sync_deg is not None else fit.mean_deg
    interval = fit.sync_interval if by_line else fit.mean_interval
    figure = Figure(_SYNC, sync, "degrees", interval)
    known = f" ({between(interval)})" if interval is not None else ""
    if _exceeds(sync, fit.tolerance):
        turn = sync / fit.crank_turns
        lead = "Apart from the lag, the" if lag_removed else "The"
        sentence = f"{lead} spark is {late_or_early(sync)}{known} at every speed. {turn_the_body(turn)}"
        return Verdict(VerdictKind.RESET, sentence, (figure,), turn_deg=turn)
    if lag_removed:
        sentence = f"Apart from the lag the timing is within tolerance: the spark is {late_or_early(sync)}{known}."
        return Verdict(VerdictKind.WITHIN_TOLERANCE, sentence, (figure,))
    worst, at = _worst_of_mean(fit)
    mean = fit.mean_at(at)
    worst_interval = (float(mean.low_deg), float(mean.high_deg))
    if by_line:
        how_late = f"at worst {late_or_early(worst)} ({between(worst_interval)}) at {at:.0f} rpm"
    else:
        how_late = f"{late_or_early(sync)}{known} from {min(fit.rpm):.0f} to {max(fit.rpm):.0f} rpm"
    sentence = (
        f"Within tolerance: on average the spark is {how_late}, {fit.tolerance:.1f}° is allowed; leave the "
        "distributor as it is."
    )
    if _exceeds(worst, fit.tolerance):
        sentence += (
            f" The readings lean to {late_or_early(worst)} at {at:.0f} rpm, which their scatter may explain: more "
            "readings there would tell."
        )
    return Verdict(
        VerdictKind.WITHIN_TOLERANCE, sentence, (figure, Figure("worst mean", worst, "degrees", worst_interval))
    )


def _how_many_more(fit: StrobeFit) -> str:
    """Readings that should do, half of them at each end: the half width there is t s sqrt(2 / n)."""
    scatter = fit.scatter_deg or 0.0
    for total in range(len(fit.rpm) + 2, _MOST_READINGS_ASKED + 1, 2):
        half = student_t_two_sided(fit.limits.confidence, total - 2) * scatter * (2.0 / total) ** 0.5
        if half <= fit.tolerance:
            return f"about {total} in all should do, {_SPREAD}"
    return "they scatter too much for a reasonable number of readings, so look for the cause of the scatter first"


def largest_disagreement(
    rpm: tuple[float, ...], residuals: tuple[float, ...], same_speed_rpm: float
) -> tuple[float, float] | None:
    """Largest difference between two residuals at one speed, and that speed; None if no speed was read twice.

    Speeds no further apart than `same_speed_rpm` count as one. [degrees of crank, rpm]
    """
    pairs = sorted(zip(rpm, residuals, strict=True))
    worst: tuple[float, float] | None = None
    for first, (speed, residual) in enumerate(pairs):
        for other_speed, other in pairs[first + 1 :]:
            if other_speed - speed > same_speed_rpm:
                break
            apart = abs(other - residual)
            if worst is None or apart > worst[0]:
                worst = (apart, (speed + other_speed) / 2.0)
    return worst


def mark_is_off(error_deg: float, limit_deg: float) -> str:
    """The part of a sentence that says the timing mark is wrong. [degrees of crank]"""
    return f"the timing mark is {abs(error_deg):.1f}° off the piston stop, {limit_deg:.1f}° is the limit"


def late_or_early(degrees: float) -> str:
    """`1.5° late`, `1.5° early`, or `on its mark` where it rounds to nothing."""
    if abs(degrees) < 0.05:
        return "on its mark"
    return f"{abs(degrees):.1f}° {'late' if degrees > 0 else 'early'}"


def between(interval: tuple[float, float]) -> str:
    """An interval of lateness in words."""
    low, high = interval
    if low < 0 < high:
        return f"between {-low:.1f}° early and {high:.1f}° late"
    word = "late" if high > 0 else "early"
    least, most = sorted((abs(low), abs(high)))
    return f"{least:.1f} to {most:.1f}° {word}"


def turn_the_body(turn_deg: float) -> str:
    """What to do with the distributor. [degrees of the distributor, positive in the advancing direction]"""
    way = "advancing direction, against" if turn_deg > 0 else "retarding direction, with"
    return (
        f"Turn the distributor body {abs(turn_deg):.1f} distributor degrees in the {way} the turn of the rotor, "
        "clamp it and read again."
    )


def _worst_of_mean(fit: StrobeFit) -> tuple[float, float]:
    """The largest error of the mean line within the speeds read, which is at one of their ends, and the speed."""
    ends = (min(fit.rpm), max(fit.rpm))
    return max(((float(fit.mean_at(end).mean_deg), end) for end in ends), key=lambda worst: abs(worst[0]))


def _exceeds(error_deg: float, tolerance: float) -> bool:
    # Whole degrees meet a tolerance exactly, and their mean passes it by the last bit.
    return abs(error_deg) > tolerance + _ROUNDING_DEG


def _beyond(interval: tuple[float, float], limit: float) -> bool:
    return interval[0] > limit or interval[1] < -limit


def _excludes_zero(interval: tuple[float, float]) -> bool:
    return interval[0] > 0.0 or interval[1] < 0.0


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"


def _mean_figure(fit: StrobeFit) -> Figure:
    return Figure("mean error", fit.mean_deg, "degrees", fit.mean_interval)
