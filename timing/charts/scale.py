"""Straight scales: from a figure to its place on the drawing and back, and where graduations fall."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from timing.charts.errors import ChartError
from timing.minus import with_minus

Point = tuple[float, float]

# Below this a graduation is grey mush on a phone, so the fine ones are left out.
CLOSEST_GRADUATION = 3.5  # [units of the drawing]


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight scale between two figures and two places on the drawing.

    Attributes
    ----------
    low, high : float
        The figures at its ends, `low` below `high`. [the axis's own unit]
    start, end : float
        The places of `low` and of `high`. [units of the drawing]

    Raises
    ------
    ChartError
        If the ends are not finite, or `low` is not below `high`, or the scale has no length.
    """

    low: float
    high: float
    start: float
    end: float

    def __post_init__(self) -> None:
        if not all(math.isfinite(end) for end in (self.low, self.high, self.start, self.end)):
            raise ChartError("a scale needs finite ends")
        if not self.low < self.high:
            raise ChartError(f"a scale runs upwards: {self.low:g} is not below {self.high:g}")
        if self.start == self.end:
            raise ChartError("a scale needs a length on the drawing")

    @property
    def per_unit(self) -> float:
        """Units of the drawing for one unit of the figure; negative where figures rise up the page."""
        return (self.end - self.start) / (self.high - self.low)

    def at(self, figure: float) -> float:
        """Place of `figure`. [units of the drawing] Not held at the ends: clip the layer, not the figure."""
        return self.start + (figure - self.low) * self.per_unit

    def value(self, place: float) -> float:
        """The figure that stands at `place`, the reverse of `at`."""
        return self.low + (place - self.start) / self.per_unit

    def clamped(self, figure: float) -> float:
        """Place of `figure`, or of the nearer end where it lies outside."""
        return self.at(min(max(figure, self.low), self.high))

    def graduations(self, step: float) -> tuple[float, ...]:
        """Every multiple of `step` from `low` to `high`, ends included."""
        if not step > 0:
            raise ChartError(f"graduations need a step above 0, not {step:g}")
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return tuple(round(index * step, 9) for index in range(first, last + 1))

    def widest_step(self, steps: Sequence[float], least_gap: float) -> float:
        """The smallest of `steps` with graduations `least_gap` apart or more; the largest if none.

        Parameters
        ----------
        steps : sequence of float
            What comes into question. [the axis's own unit]
        least_gap : float
            Least distance of two graduations. [units of the drawing]

        Returns
        -------
        float
            One of `steps`.
        """
        for step in sorted(steps):
            if abs(step * self.per_unit) >= least_gap:
                return step
        return max(steps)


def outward(low: float, high: float, step: float) -> tuple[float, float]:
    """`low` and `high` moved outwards to multiples of `step`, at least one step apart.

    Parameters
    ----------
    low, high : float
        What has to lie between the ends.
    step : float
        Above zero.

    Returns
    -------
    (float, float)
        The ends.
    """
    down, up = math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step
    return (down, up) if up > down else (down, down + step)


def round_step(span: float, parts: int) -> float:
    """The step of 1, 2 or 5 times a power of ten that divides `span` into `parts` or fewer.

    Parameters
    ----------
    span : float
        What is divided, above zero.
    parts : int
        Most parts.

    Returns
    -------
    float
        The step, in the unit of `span`.

    Raises
    ------
    ChartError
        If `span` is not above zero.
    """
    if not span > 0:
        raise ChartError(f"a step needs a span above 0, not {span:g}")
    power = 10.0 ** math.floor(math.log10(span / parts))
    for factor in (1.0, 2.0, 5.0):
        if span <= parts * factor * power * (1 + 1e-9):
            return factor * power
    return 10.0 * power


def place(value: float) -> str:
    """A place on the drawing to a hundredth: no exponent, no trailing nought, no minus nought."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def path(points: Sequence[Point], *, closed: bool = False) -> str:
    """Path data through `points`, or an empty string for none.

    Parameters
    ----------
    points : sequence of (x, y)
        The corners. [units of the drawing]
    closed : bool
        Whether the last is joined to the first.

    Returns
    -------
    str
        Path data.
    """
    if not points:
        return ""
    corners = "L".join(f"{place(x)} {place(y)}" for x, y in points)
    return f"M{corners}Z" if closed else f"M{corners}"


def figure_text(value: float, decimals: int = 1) -> str:
    """A figure as printed on a drawing: at most `decimals` places, a true minus sign.

    Parameters
    ----------
    value : float
        The figure.
    decimals : int
        Most places after the point.

    Returns
    -------
    str
        Without trailing noughts, and never minus nought.
    """
    text = f"{value:.{decimals}f}"
    if decimals:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else with_minus(text)
