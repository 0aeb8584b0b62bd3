"""How long the engine spent in each cell of its map, and what advance it was given there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import ArrayLike

from timing.figures import Figures
from timing.inputs import FloatArray, FloatOrArray, finite
from timing.roadlog.grid import Grid, Span
from timing.roadlog.log import RUN, BoolArray, Log, Run
from timing.roadlog.settings import USUAL, RoadLogError, RoadLogSettings

# Samples that follow each other mostly fall into one cell, and each sum there waits for the last. Taking turns in
# several tables, summed at the end, halves the time.
_LANES = 4


class CommandsAdvance(Protocol):
    """Anything that knows the advance it commands, such as `timing.surface.TotalAdvance`."""

    def advance(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatOrArray:
        """Commanded advance. [degrees of crank]

        Parameters
        ----------
        rpm, vacuum : float or array
            [rpm at the crank], [kPa below atmosphere]

        Returns
        -------
        float or array
            [degrees of crank before top dead centre]
        """


@dataclass(frozen=True, slots=True)
class Dropped:
    """What of a log was not counted.

    Attributes
    ----------
    slow_samples, slow_s : int, float
        Below the lowest speed kept. [samples], [s]
    left_out_samples, left_out_s : int, float
        Left out by the caller: ignition cut, gear change. [samples], [s]
    gap_s : float
        Time in gaps beyond the longest gap kept, where nobody knows what the engine did. [s]
    """

    slow_samples: int
    slow_s: float
    left_out_samples: int
    left_out_s: float
    gap_s: float

    @property
    def total_s(self) -> float:
        """All time that was not counted. [s]"""
        return self.slow_s + self.left_out_s + self.gap_s


@dataclass(frozen=True, slots=True, eq=False)
class Occupancy(Figures):
    """Time spent in each cell. Tables have a row for each vacuum and a column for each speed.

    Attributes
    ----------
    grid : Grid
        The nodes of the cells.
    seconds : array, shape (n, m)
        Time spent. [s]
    mean_advance : masked array, shape (n, m), or None
        Commanded advance averaged over that time, masked where there was none; None if the log has no advance.
        [degrees of crank]
    dropped : Dropped
        What was not counted.
    """

    grid: Grid
    seconds: FloatArray
    mean_advance: np.ma.MaskedArray[Any, np.dtype[np.float64]] | None
    dropped: Dropped

    @property
    def total_s(self) -> float:
        """All time that was counted. [s]"""
        return float(self.seconds.sum())

    def driven(self, settings: RoadLogSettings = USUAL) -> BoolArray:
        """Where the engine ran for `quiet_s` or more. A cell that was not driven is never a safe one."""
        return np.asarray(self.seconds >= settings.quiet_s)


def occupancy(
    grid: Grid,
    t_s: ArrayLike,
    *,
    rpm: ArrayLike,
    vacuum: ArrayLike,
    advance: ArrayLike | None = None,
    leave_out: ArrayLike | None = None,
    settings: RoadLogSettings = USUAL,
) -> Occupancy:
    """Time spent in each cell of `grid`, and the mean advance there.

    A sample counts from its time to the next one's, for `longest_gap_s` at most; the last one counts for nothing.
    It belongs to the nearest node; the outer cells are open.

    Parameters
    ----------
    grid : Grid
        The nodes of the cells.
    t_s : array, shape (k,)
        Time of each sample, never falling. [s]
    rpm, vacuum : array, shape (k,)
        Engine speed, zero or more, and manifold vacuum. [rpm at the crank], [kPa below atmosphere]
    advance : array, shape (k,), optional
        Advance the unit commanded. [degrees of crank]
    leave_out : array of bool, shape (k,), optional
        Samples that are not to count: ignition cut, gear change.
    settings : RoadLogSettings
        Longest gap, lowest speed.

    Returns
    -------
    Occupancy
        Tables of n rows of vacuum and m columns of speed, and what was not counted.

    Raises
    ------
    RoadLogError
        If the log is empty, its columns differ in length, or its time runs backwards.
    TimingError
        If a figure is not finite, or a speed is negative.
    """
    log = Log(t_s, rpm=rpm, vacuum=vacuum, leave_out=leave_out, settings=settings)
    given = None if advance is None else log.column(advance, "the advance")
    cells = grid.shape[0] * grid.shape[1]
    # One cell more than the grid has, for what is dropped.
    seconds, degree_seconds = np.zeros((_LANES, cells + 1)), np.zeros((_LANES, cells + 1))
    lane = (np.arange(RUN) % _LANES * (cells + 1)).astype(np.uint32)
    tally, finder = _Tally(), grid.finder()
    for run in log.runs():
        number = finder.numbers(rpm=run.rpm, vacuum=run.vacuum, rpm_span=run.rpm_span, vacuum_span=run.vacuum_span)
        if run.dropped is not None:
            number[run.dropped] = cells
        number += lane[: number.size]
        bins = number.astype(np.intp)
        seconds += np.bincount(bins, weights=run.counted_s, minlength=seconds.size).reshape(seconds.shape)
        if given is not None:
            some = given[run.at]
            if not Span.of(some).is_finite:
                finite(some, "the advance")
            degrees = np.bincount(bins, weights=run.counted_s * some, minlength=seconds.size)
            degree_seconds += degrees.reshape(seconds.shape)
        tally.add(run)
    seconds, degree_seconds = seconds.sum(axis=0), degree_seconds.sum(axis=0)
    seconds, degree_seconds = seconds[:cells].reshape(grid.shape), degree_seconds[:cells].reshape(grid.shape)
    mean = None
    if given is not None:
        driven = seconds > 0.0
        mean = np.ma.MaskedArray(degree_seconds / np.where(driven, seconds, 1.0), mask=~driven)
    return Occupancy(grid=grid, seconds=seconds, mean_advance=mean, dropped=tally.dropped())


class _Tally:
    """What is dropped, summed run by run."""

    def __init__(self) -> None:
        self._samples = {"slow": 0, "left_out": 0}
        self._seconds = {"slow": 0.0, "left_out": 0.0}
        self._gap_s = 0.0

    def add(self, run: Run) -> None:
        self._gap_s += run.gap_s
        for reason, flags in (("slow", run.slow), ("left_out", run.left_out)):
            if flags is not None:
                self._samples[reason] += int(np.count_nonzero(flags))
                self._seconds[reason] += float(run.counted_s[flags].sum())

    def dropped(self) -> Dropped:
        return Dropped(
            slow_samples=self._samples["slow"],
            slow_s=self._seconds["slow"],
            left_out_samples=self._samples["left_out"],
            left_out_s=self._seconds["left_out"],
            gap_s=self._gap_s,
        )


def commanded_advance(map_: CommandsAdvance, *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatArray:
    """The advance a map commands along a log, for a log that did not record it. [degrees of crank]

    Parameters
    ----------
    map_ : object with `advance(rpm=, vacuum=)`
        The map that was in the unit on that drive, such as a `TotalAdvance`.
    rpm, vacuum : array, shape (k,)
        The log's speed and manifold vacuum. [rpm at the crank], [kPa below atmosphere]

    Returns
    -------
    array, shape (k,)
        [degrees of crank before top dead centre]

    Raises
    ------
    RoadLogError
        If the two columns differ in length.
    TimingError
        If a figure is not finite, or a speed is negative.
    """
    if np.shape(rpm) != np.shape(vacuum):
        raise RoadLogError(f"{np.size(rpm)} speeds and {np.size(vacuum)} vacuum readings do not go together")
    return np.asarray(map_.advance(rpm=rpm, vacuum=vacuum))
