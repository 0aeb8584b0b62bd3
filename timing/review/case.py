"""What is being reviewed, with the map's surface worked out once for all checks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from timing.comparison import Spoken
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray
from timing.review.facts import CoilFacts, EngineFacts, PinkingNote
from timing.review.finding import Span
from timing.review.limits import USUAL, ReviewLimits
from timing.tolerance import exceeds
from timing.unit import UnitType
from timing.vacuum import VacuumRamp, VacuumTable

BoolArray: TypeAlias = NDArray[np.bool_]


class Missing(NamedTuple):
    """A figure that a check needs and nobody has entered.

    Attributes
    ----------
    code : str
        'missing-idle-speed'.
    label : str
        What is missing: 'the idle speed'.
    question : str
        What cannot be judged without it: 'whether the curve makes it hunt'.
    """

    code: str
    label: str
    question: str


class Beyond(NamedTuple):
    """Where a table is beyond a limit, and where most.

    Attributes
    ----------
    rpm, vacuum : (low, high)
        Range of either. [rpm at the crank], [kPa below atmosphere]
    degrees, at_rpm, at_vacuum : float
        The value that is furthest beyond, and its place. [degrees of crank]
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
    map : IgnitionMap
        The map that is looked at: as the unit delivers it, or as set.
    meant : IgnitionMap
        The map as set.
    rpm, vacuum : array
        Every speed and vacuum at which the total advance bends: it is straight, or bilinear, in between. No speed
        above the rev limit.
    total : array, shape (vacuum, rpm)
        Total advance there. [degrees of crank]
    """

    map: IgnitionMap
    meant: IgnitionMap
    engine: EngineFacts
    coil: CoilFacts
    unit: UnitType | None
    altitude_m: float | None
    limits: ReviewLimits
    pressure: Spoken
    pinking: tuple[PinkingNote, ...]
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
        """Where the total advance is above `limit`; None if nowhere.

        Parameters
        ----------
        limit : float
            Itself within. [degrees of crank]
        rows : array of bool, shape (vacuum,), optional
            Which rows of vacuum are looked at; all where left out.

        Returns
        -------
        Beyond or None
            The range, and the highest value in it.
        """
        picked = np.full(self.vacuum.shape, True) if rows is None else rows
        return _beyond(self.rpm, self.vacuum[picked], self.total[picked], limit)

    def below(self, limit: float, rows: BoolArray, *, from_rpm: float) -> Beyond | None:
        """Where the total advance is below `limit`; None if nowhere.

        Parameters
        ----------
        limit : float
            Itself within. [degrees of crank]
        rows : array of bool, shape (vacuum,)
            Which rows of vacuum are looked at.
        from_rpm : float
            Lowest speed looked at; an engine that is limited below it is looked at there. [rpm at the crank]

        Returns
        -------
        Beyond or None
            The range, and the lowest value in it.
        """
        start = min(from_rpm, float(self.rpm[-1]))
        rpm = np.append(start, self.rpm[self.rpm > start])
        total = np.asarray(self.map.total(rpm=rpm[np.newaxis, :], vacuum=self.vacuum[rows][:, np.newaxis]))
        found = _beyond(rpm, self.vacuum[rows], -total, -limit)
        return None if found is None else found._replace(degrees=-found.degrees)


def _beyond(rpm: FloatArray, vacuum: FloatArray, table: FloatArray, limit: float) -> Beyond | None:
    if not table.size or not exceeds(float(table.max()), limit):
        return None
    row, column = np.unravel_index(int(np.argmax(table)), table.shape)
    excess = table - limit
    return Beyond(
        rpm=_span(rpm, excess),
        vacuum=_span(vacuum, excess.T),
        degrees=float(table[row, column]),
        at_rpm=float(rpm[column]),
        at_vacuum=float(vacuum[row]),
    )


def _span(nodes: FloatArray, lines: FloatArray) -> Span:
    """Lowest and highest place where any of the straight-line `lines` over `nodes` is above nought."""
    low, high = np.inf, -np.inf
    for line in lines:
        above = [place for place, excess in enumerate(line.tolist()) if exceeds(excess, 0.0)]
        if above:
            low = min(low, _crossing(nodes, line, above[0], -1))
            high = max(high, _crossing(nodes, line, above[-1], +1))
    return float(low), float(high)


def _crossing(nodes: FloatArray, line: FloatArray, inside: int, towards: int) -> float:
    """Where the line passes nought between `inside`, where it is above, and the next node `towards` a side."""
    outside = inside + towards
    if not 0 <= outside < nodes.size:
        return float(nodes[inside])
    share = line[inside] / (line[inside] - line[outside])
    return float(nodes[inside] + share * (nodes[outside] - nodes[inside]))


def bends(map: IgnitionMap, limits: ReviewLimits) -> tuple[FloatArray, FloatArray]:
    """Speeds and vacua at which the total advance of `map` bends or jumps, up to its rev limit.

    Parameters
    ----------
    map : IgnitionMap
        The map.
    limits : ReviewLimits
        Up to which vacuum the throttle counts as wide open. One vacuum above it is always among the answers.

    Returns
    -------
    rpm, vacuum : array
        Rising. [rpm at the crank], [kPa below atmosphere]
    """
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
    if max(vacuum) <= limits.full_load_kpa:
        # A map without a vacuum part gives at light load what it gives at full load, and has a light load all the same.
        vacuum.append(limits.full_load_kpa + limits.idle_band_kpa)
    speeds = np.unique(rpm)
    if map.rev_limit_rpm is not None:
        speeds = np.append(speeds[speeds < map.rev_limit_rpm], map.rev_limit_rpm)
    return speeds, np.unique(vacuum)


def advance_range(map: IgnitionMap, limits: ReviewLimits = USUAL) -> tuple[float, float]:
    """Lowest and highest total advance of `map`, up to its rev limit. [degrees of crank before top dead centre]

    Parameters
    ----------
    map : IgnitionMap
        The map, best as the unit delivers it.
    limits : ReviewLimits
        As for `review`.

    Returns
    -------
    lowest, highest : float
        [degrees of crank before top dead centre]
    """
    rpm, vacuum = bends(map, limits)
    total = np.asarray(map.total(rpm=rpm[np.newaxis, :], vacuum=vacuum[:, np.newaxis]))
    return float(total.min()), float(total.max())
