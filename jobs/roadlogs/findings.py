"""What a log shows at a glance, found once when it is read and kept beside it as plain figures."""

from dataclasses import asdict, dataclass
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from jobs.roadlogs.conversion import Converted
from timing.ignition_map import IgnitionMap
from timing.roadlog import Grid, Occupancy, RoadLogSettings, commanded_advance, occupancy, steady_stretches

USUAL = RoadLogSettings()
MOST_STEADY = 200
MOST_KNOCKS = 500
# A knock that falls silent for less than this goes on. Common practice, no source. [s]
KNOCK_PAUSE_S = 0.5


@dataclass(frozen=True, slots=True)
class Shown:
    """What the pages show of a log. Tables have a row for each vacuum and a column for each speed."""

    duration_s: float
    rpm: list[float]  # the nodes of the cells
    vacuum: list[float]
    seconds: list[list[float]]
    advance: list[list[float | None]]  # mean commanded advance, where the engine was driven
    slow_s: float
    gap_s: float
    steady: list[list[float]]  # from_s, to_s, rpm, vacuum
    steady_count: int
    knocks: list[list[float]]  # at_s, seconds, rpm, vacuum, highest level
    knock_count: int
    knock_seconds: list[list[float]] | None  # None: no knock level, or no limit
    span: dict[str, list[float]]  # lowest and highest of what the time line draws

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Self:
        return cls(**kept)

    @property
    def grid(self) -> Grid:
        return Grid(rpm=self.rpm, vacuum=self.vacuum)


def found_in(log: Converted, advance: NDArray[np.float64], grid: Grid, *, knock_limit: float | None) -> Shown:
    """Everything the pages show of `log`, whose commanded `advance` is known."""
    rpm, vacuum = log.rpm.astype(np.float64), log.vacuum.astype(np.float64)
    driven = occupancy(grid, log.t_s, rpm=rpm, vacuum=vacuum, advance=advance)
    steady = steady_stretches(log.t_s, rpm=rpm, vacuum=vacuum)
    longest = sorted(sorted(steady, key=lambda one: -one.seconds)[:MOST_STEADY])
    level = log.others.get("knock")
    is_knock = None if level is None or knock_limit is None else level > knock_limit
    knocks = [] if level is None or is_knock is None else knocks_in(log.t_s, rpm, vacuum, level, is_knock)
    at_knock = None
    if is_knock is not None:
        table = occupancy(grid, log.t_s, rpm=rpm, vacuum=vacuum, leave_out=~is_knock)
        at_knock = table.seconds.round(3).tolist()
    return Shown(
        duration_s=float(log.t_s[-1]),
        rpm=list(grid.rpm),
        vacuum=list(grid.vacuum),
        seconds=driven.seconds.round(3).tolist(),
        advance=_mean_of(driven),
        slow_s=driven.dropped.slow_s,
        gap_s=driven.dropped.gap_s,
        steady=[[round(figure, 3) for figure in one] for one in longest],
        steady_count=len(steady),
        knocks=knocks[:MOST_KNOCKS],
        knock_count=len(knocks),
        knock_seconds=at_knock,
        span={
            name: [float(column.min()), float(column.max())]
            for name, column in (("rpm", rpm), ("vacuum", vacuum), ("advance", advance))
        },
    )


def advance_of(the_map: IgnitionMap, log: Converted) -> NDArray[np.float64]:
    """What `the_map` commands along `log`. [degrees of crank]"""
    advance = commanded_advance(
        the_map.total_advance(), rpm=log.rpm.astype(np.float64), vacuum=log.vacuum.astype(np.float64)
    )
    return np.asarray(advance)


def _mean_of(driven: Occupancy) -> list[list[float | None]]:
    if driven.mean_advance is None:
        return []
    return [[None if cell is None else round(cell, 2) for cell in row] for row in driven.mean_advance.tolist()]


def knocks_in(
    t_s: NDArray[np.float64],
    rpm: NDArray[np.float64],
    vacuum: NDArray[np.float64],
    level: NDArray[np.float32],
    is_knock: NDArray[np.bool_],
) -> list[list[float]]:
    """Each knock: when it begins, how long it lasts, and where the engine was at its highest level.

    Samples above the limit belong together where less than `KNOCK_PAUSE_S` lies between them. Below the lowest speed
    that counts the starter turns the engine, and its noise is no knock.
    """
    places = np.flatnonzero(is_knock & (rpm >= USUAL.lowest_rpm))
    if not places.size:
        return []
    held = np.minimum(np.diff(t_s, append=t_s[-1]), USUAL.longest_gap_s)
    begins = np.flatnonzero(np.diff(t_s[places], prepend=-np.inf) > KNOCK_PAUSE_S)
    knocks = []
    for one in np.split(places, begins[1:]):
        loudest = one[int(np.argmax(level[one]))]
        knocks.append(
            [
                round(float(t_s[one[0]]), 3),
                round(float(held[one].sum()), 3),
                round(float(rpm[loudest]), 1),
                round(float(vacuum[loudest]), 2),
                float(level[loudest]),
            ]
        )
    return knocks
