"""What is being reviewed, with the map's surface worked out once for all checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from timing.comparison import Spoken
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray
from timing.review.facts import CoilFacts, EngineFacts
from timing.review.finding import Span
from timing.review.limits import USUAL, ReviewLimits
from timing.unit import FittedMap, UnitType
from timing.vacuum import VacuumRamp, VacuumTable

BoolArray: TypeAlias = NDArray[np.bool_]

# An advance above its limit by less than this is on it: floating point, not degrees.
_NOISE_DEG = 1e-9


class Missing(NamedTuple):
    """A figure that a check needs and nobody has entered.

    Attributes
    ----------
    code : str
        'missing-idle-speed'.
    figure : str
        In words: 'the idle speed'.
    question : str
        What cannot be judged without it: 'whether the curve makes it hunt'.
    """

    code: str
    figure: str
    question: str


class Beyond(NamedTuple):
    """Where a table is above a limit, and where it is highest.

    Attributes
    ----------
    rpm, vacuum : (low, high)
        Range of either. [rpm at the crank], [kPa below atmosphere]
    degrees, at_rpm, at_vacuum : float
        The highest value and its place. [degrees of crank]
    """

    rpm: Span
    vacuum: Span
    degrees: float
    at_rpm: float
    at_vacuum: float


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One map, and all that is known about the car it is for.

    Attributes
    ----------
    rpm, vacuum : array
        Every speed and vacuum at which the total advance bends: it is straight, or bilinear, in between. No speed
        above the rev limit.
    total : array, shape (vacuum, rpm)
        Total advance there. [degrees of crank]
    """

    map: IgnitionMap
    engine: EngineFacts
    coil: CoilFacts
    unit: UnitType | None
    fitted: FittedMap | None
    altitude_m: float | None
    limits: ReviewLimits
    pressure: Spoken
    rpm: FloatArray
    vacuum: FloatArray
    total: FloatArray

    @property
    def full_load_rows(self) -> BoolArray:
        """Which rows of vacuum are full load: throttle wide open, or boost."""
        return np.asarray(self.vacuum <= self.limits.full_load_kpa)

    @property
    def top_rpm(self) -> float | None:
        """The highest speed it will run at: the rev limit, or else the red line. [rpm at the crank]"""
        return self.map.rev_limit_rpm if self.map.rev_limit_rpm is not None else self.engine.red_line_rpm

    def above(self, limit: float, rows: BoolArray | None = None) -> Beyond | None:
        """Where the total advance is above `limit`, among the `rows` of vacuum that are picked; None if nowhere."""
        picked = np.full(self.vacuum.shape, True) if rows is None else rows
        if not picked.any():
            return None
        vacuum, total = self.vacuum[picked], self.total[picked]
        excess = total - limit
        if not (excess > _NOISE_DEG).any():
            return None
        row, column = np.unravel_index(int(np.argmax(total)), total.shape)
        return Beyond(
            rpm=_span(self.rpm, excess),
            vacuum=_span(vacuum, excess.T),
            degrees=float(total[row, column]),
            at_rpm=float(self.rpm[column]),
            at_vacuum=float(vacuum[row]),
        )


def _span(nodes: FloatArray, lines: FloatArray) -> Span:
    """Lowest and highest place where any of the straight-line `lines` over `nodes` is above nought."""
    low, high = np.inf, -np.inf
    for line in lines:
        above = np.flatnonzero(line > _NOISE_DEG)
        if above.size:
            low = min(low, _crossing(nodes, line, int(above[0]), -1))
            high = max(high, _crossing(nodes, line, int(above[-1]), +1))
    return float(low), float(high)


def _crossing(nodes: FloatArray, line: FloatArray, inside: int, towards: int) -> float:
    """Where the line passes nought between `inside`, where it is above, and the next node `towards` a side."""
    outside = inside + towards
    if not 0 <= outside < nodes.size:
        return float(nodes[inside])
    share = line[inside] / (line[inside] - line[outside])
    return float(nodes[inside] + share * (nodes[outside] - nodes[inside]))


def bends(map: IgnitionMap, limits: ReviewLimits) -> tuple[FloatArray, FloatArray]:
    """Speeds and vacua at which the total advance of `map` bends or jumps, up to its rev limit."""
    rpm = list(map.curve.rpm)
    vacuum = [0.0, limits.full_load_kpa]
    if isinstance(map.vacuum, VacuumRamp):
        vacuum += [map.vacuum.start, map.vacuum.full]
        if map.vacuum.from_rpm > 0.0:
            # The advance jumps there: the last speed without it is the one just below.
            rpm += [float(np.nextafter(map.vacuum.from_rpm, 0.0)), map.vacuum.from_rpm]
    elif isinstance(map.vacuum, VacuumTable):
        rpm += map.vacuum.rpm
        vacuum += map.vacuum.vacuum
    if map.boost is not None:
        vacuum += [-boost for boost in map.boost.boost]
    speeds = np.unique(rpm)
    if map.rev_limit_rpm is not None:
        speeds = np.append(speeds[speeds < map.rev_limit_rpm], map.rev_limit_rpm)
    return speeds, np.unique(vacuum)


def advance_range(map: IgnitionMap, limits: ReviewLimits = USUAL) -> tuple[float, float]:
    """Lowest and highest total advance of `map`, up to its rev limit. [degrees of crank before top dead centre]"""
    rpm, vacuum = bends(map, limits)
    total = map.total_advance().table(rpm=rpm, vacuum=vacuum)
    return float(total.min()), float(total.max())
