"""The figures that a speed chart is made of, and the axes that hold them all."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from timing import inputs
from timing.charts.cars import Quarters, ends_of, middle_of
from timing.charts.errors import ChartError
from timing.charts.marks import Rule
from timing.charts.page import Axis, degrees_axis, rpm_axis
from timing.charts.points import Triple, axis_ends
from timing.charts.scale import Point, outward

LEAST_DEGREES = 15.0  # [degrees] A flat curve on a tall scale would show its steps as cliffs.


@dataclass(frozen=True, slots=True)
class Given:
    """The checked figures of a speed chart, before anything has a place."""

    delivered: tuple[Point, ...] = ()
    delivered_name: str = ""
    target: tuple[Point, ...] = ()
    earlier: tuple[tuple[str, tuple[Point, ...]], ...] = ()
    band: tuple[Triple, ...] = ()
    cars: tuple[Quarters, ...] = ()
    cars_name: str = ""
    rising: tuple[Point, ...] = ()
    falling: tuple[Point, ...] = ()
    readings: tuple[Point, ...] = ()
    road_notes: tuple[Point, ...] = ()
    rules: tuple[Rule, ...] = ()

    def points(self) -> list[Point]:
        """Every point that has to be on the paper."""
        found = [*self.delivered, *self.target, *self.rising, *self.falling, *self.readings, *self.road_notes]
        for _, points in self.earlier:
            found += points
        for rpm, low, high in self.band:
            found += [(rpm, low), (rpm, high)]
        return found + ends_of(self.cars)

    def curves(self) -> bool:
        """Whether there is any curve of a map, and not only the old distributor."""
        return bool(self.delivered or self.target or self.earlier)

    def curve_to_speak_of(self) -> tuple[Point, ...]:
        """The curve on which findings are marked: the delivered one, else the target, else what there is."""
        for points in (
            self.delivered,
            self.target,
            *(points for _, points in self.earlier),
            middle_of(self.cars),
            mean_line(self.rising),
            mean_line(self.falling),
        ):
            if points:
                return points
        return tuple((rpm, (low + high) / 2) for rpm, low, high in self.band) or ((0.0, 0.0),)


def rules_at(idle: float | None, limit: float | None, red_line: float | None) -> tuple[Rule, ...]:
    """The speeds worth a rule.

    Parameters
    ----------
    idle, limit, red_line : float or None
        Those that are known. [rpm at the crank]

    Returns
    -------
    tuple of Rule
        One for each that is.

    Raises
    ------
    TimingError
        If one is negative or no finite number.
    """
    named = (("idle", idle, "idle"), ("limit", limit, "rev limit"), ("red-line", red_line, "red line"))
    return tuple(
        Rule(kind, inputs.number(rpm, f"the {label}", low=0, unit="rpm"), f"{label} {rpm:.0f}")
        for kind, rpm, label in named
        if rpm is not None
    )


def axes_for(
    given: Given,
    circles: Sequence[Point],
    rpm_limits: tuple[float, float] | None,
    degrees_limits: tuple[float, float] | None,
    degrees_name: str,
) -> tuple[Axis, Axis]:
    """The axes that hold everything, at round ends unless they are given.

    Parameters
    ----------
    given : Given
        The checked figures of the chart.
    circles : sequence of (rpm, degrees)
        The nodes.
    rpm_limits, degrees_limits : (low, high) or None
        The ends asked for. [rpm], [degrees of crank]
    degrees_name : str
        What the degrees are counted from.

    Returns
    -------
    Axis, Axis
        Speed and degrees.

    Raises
    ------
    TimingError
        If there is nothing to draw, or a speed is negative.
    """
    points = [*given.points(), *circles]
    if not points:
        raise ChartError("there is nothing to draw: no curve, no band and no reading")
    speeds = [rpm for rpm, _ in points] + [rule.across for rule in given.rules]
    if min(speeds) < 0:
        raise ChartError(f"engine speed cannot be {min(speeds):g} rpm")
    low_rpm, high_rpm = axis_ends(rpm_limits, "the ends of the speed axis") or _round_rpm(min(speeds), max(speeds))
    heights = [height for _, height in points]
    low_deg, high_deg = axis_ends(degrees_limits, "the ends of the degrees") or _round_degrees(
        min(heights), max(heights)
    )
    return rpm_axis(low_rpm, high_rpm), degrees_axis(low_deg, high_deg, degrees_name)


def _round_rpm(low: float, high: float) -> tuple[float, float]:
    """From standstill, unless all lies well above; and beyond the last figure, to keep it visible."""
    down, up = outward(low if low > 1500 else 0.0, high, 500.0)
    return (down, up + 500.0) if up - high < 100 else (down, up)


def _round_degrees(low: float, high: float) -> tuple[float, float]:
    """Nought is always on the paper, and there is room above the highest point for a mark and a finger."""
    down, up = outward(min(low, 0.0), high + 2.0, 5.0)
    return down, max(up, down + LEAST_DEGREES)


def mean_line(points: Sequence[Point]) -> tuple[Point, ...]:
    """Readings in order of speed, those at one speed as their mean."""
    at: dict[float, list[float]] = {}
    for rpm, height in points:
        at.setdefault(rpm, []).append(height)
    return tuple((rpm, math.fsum(heights) / len(heights)) for rpm, heights in sorted(at.items()))
