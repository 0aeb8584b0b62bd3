"""Findings about the rev limit: against the red line, and against the curve."""

from __future__ import annotations

from collections.abc import Iterator

from timing.curve import AdvanceCurve
from timing.review.case import Case, Missing
from timing.review.finding import Finding, Kind, degrees, speed
from timing.tolerance import exceeds


def red_line(case: Case) -> Iterator[Finding | Missing]:
    """The rev limit against the red line."""
    limit, red_line_rpm = case.map.rev_limit_rpm, case.engine.red_line_rpm
    if limit is None:
        yield Finding(
            Kind.NOTE,
            "no-rev-limit",
            "No rev limit is set. Set one, or write down what else keeps the engine from turning too fast.",
            "A missed gear takes an engine past its red line in a moment.",
        )
    elif red_line_rpm is None:
        yield Missing("missing-red-line", "the red line", "whether the rev limit comes in time")
    elif exceeds(limit, red_line_rpm):
        percent = case.limits.over_red_line_percent
        far = exceeds(limit, red_line_rpm * (1.0 + percent / 100.0))
        yield Finding(
            Kind.STOP if far else Kind.CAUTION,
            "rev-limit-over-red-line",
            f"The rev limit of {speed(limit)} is above the red line of {speed(red_line_rpm)}"
            + (f", by more than {percent:g} %. " if far else ". ")
            + "Lower it to the red line or less.",
            "A limit above the red line does not protect the engine.",
            rpm=(red_line_rpm, limit),
        )


def curve(case: Case) -> Iterator[Finding | Missing]:
    """The rev limit against the last points of the curve."""
    limit, line, limits = case.map.rev_limit_rpm, case.map.curve, case.limits
    if limit is None:
        return
    last = line.rpm[-1]
    # A flat top is meant to be held, also by a unit that needs no point for it.
    if all(exceeds(_lost(curve, limit), limits.unused_deg) for curve in (line, case.meant.curve)):
        yield Finding(
            Kind.CAUTION,
            "rev-limit-beyond-curve",
            f"The curve still rises at its last point, {speed(last)}, and is held from there. The rev limit is"
            f" {speed(limit)}: add a point there, or check that {degrees(line.degrees[-1])} is meant.",
            "Above the last point the advance is held.",
            rpm=(last, limit),
        )
    used_up_to = float(line.advance(limit))
    unused = [(abs(deg - used_up_to), rpm) for rpm, deg in zip(line.rpm, line.degrees, strict=True) if rpm > limit]
    if unused and exceeds(max(unused)[0], limits.unused_deg):
        change, at_rpm = max(unused)
        yield Finding(
            Kind.NOTE,
            "rev-limit-below-curve",
            f"The curve still changes by {degrees(change)} above the rev limit, up to {speed(at_rpm)}. Check that a"
            f" limit of {speed(limit)} is meant.",
            "A limit below what the curve uses is often a slipped digit.",
            rpm=(limit, at_rpm),
        )


def _lost(line: AdvanceCurve, limit_rpm: float) -> float:
    """What the curve would still gain below the limit if its last stretch went on. [degrees of crank]"""
    return float(line.slope()[-1]) / 1000.0 * max(limit_rpm - line.rpm[-1], 0.0) if len(line.rpm) > 1 else 0.0
