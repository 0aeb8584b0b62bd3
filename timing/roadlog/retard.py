"""The retard that the notes of a drive speak for. It is a proposal: a person accepts each cell, with a reason."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from timing.figures import Figures
from timing.inputs import FloatArray, FloatOrArray, finite, same_shape_as_asked, within
from timing.roadlog.grid import Grid
from timing.roadlog.settings import USUAL, RoadLogError, RoadLogSettings
from timing.tolerance import falls_short

# The score of three notes that add up to a half may miss it by rounding; that must not cost a step of retard.
_ROUNDING = 1e-9


class CellState(StrEnum):
    """What is known about a cell after a drive. Nothing makes a cell safe: quiet is the most that can be said."""

    NOTED = "noted"
    QUIET = "driven, nothing noted"
    NOT_DRIVEN = "not driven"


@dataclass(frozen=True, slots=True, eq=False)
class Proposal(Figures):
    """Retard proposed after a drive. Tables have a row for each vacuum and a column for each speed.

    Attributes
    ----------
    grid : Grid
        The nodes of the cells.
    scores : array, shape (n, m)
        What the notes add up to in each cell.
    noted_deg : array, shape (n, m)
        Retard for the cell's own notes. [degrees of crank]
    retard_deg : array, shape (n, m)
        Retard proposed: that, and what keeps the steps to its neighbours in bounds. [degrees of crank]
    states : tuple of n tuples of m CellState
        What is known about each cell.
    """

    grid: Grid
    scores: FloatArray
    noted_deg: FloatArray
    retard_deg: FloatArray
    states: tuple[tuple[CellState, ...], ...]


def proposed_retard(score: ArrayLike, *, settings: RoadLogSettings = USUAL) -> FloatOrArray:
    """Retard for a score, before neighbouring cells are looked at. [degrees of crank]

    Nothing below `least_score`; then `degrees_per_score`, rounded up to `retard_step_deg`, at most
    `most_retard_deg` (common practice, no source).

    Parameters
    ----------
    score : float or array
        As from `spread_notes`, zero or more.
    settings : RoadLogSettings
        The four limits.

    Returns
    -------
    float or array
        Of the shape of `score`. [degrees of crank]

    Raises
    ------
    TimingError
        If a score is negative or not finite.
    """
    scores = within(score, "the score", low=0.0)
    steps = np.ceil(scores * settings.degrees_per_score / settings.retard_step_deg - _ROUNDING)
    retard = np.minimum(settings.most_retard_deg, steps * settings.retard_step_deg)
    return same_shape_as_asked(np.where(_falls_short(scores, settings.least_score), 0.0, retard))


def propose(
    grid: Grid,
    scores: ArrayLike,
    seconds: ArrayLike,
    advance: ArrayLike,
    *,
    settings: RoadLogSettings = USUAL,
) -> Proposal:
    """What to take out of the map after a drive, cell by cell. It only ever retards.

    A proposal leaves no step of more than `neighbour_limit_deg` between neighbouring cells that the map did not
    have before, and makes none of those it had larger: the higher cell is lowered, by no more than is needed. A
    map that is steeper than that already is not flattened on the strength of a note: that is for
    `timing.review`.

    Parameters
    ----------
    grid : Grid
        The nodes of the cells, n of vacuum and m of speed.
    scores : array, shape (n, m)
        From `spread_notes`.
    seconds : array, shape (n, m)
        From `occupancy`. [s]
    advance : array, shape (n, m)
        Total advance of the map that was driven, at its nodes. [degrees of crank]
    settings : RoadLogSettings
        All limits.

    Returns
    -------
    Proposal
        What to take out, and why.

    Raises
    ------
    RoadLogError
        If a table does not fit the grid.
    TimingError
        If a score or a time is negative, or a figure is not finite.
    """
    score = _table(grid, within(scores, "the score", low=0.0), "scores")
    driven_s = _table(grid, within(seconds, "the time in a cell", low=0.0, unit="s"), "times")
    before = _table(grid, finite(advance, "the advance"), "advances")
    noted = np.asarray(proposed_retard(score, settings=settings))
    states = np.where(_falls_short(driven_s, settings.quiet_s), CellState.NOT_DRIVEN, CellState.QUIET)
    states = np.where(score > 0.0, CellState.NOTED, states)
    return Proposal(
        grid=grid,
        scores=score,
        noted_deg=noted,
        retard_deg=_kept_to_steps(before, noted, _everywhere(settings.neighbour_limit_deg)),
        states=tuple(tuple(CellState(state) for state in row) for row in states.tolist()),
    )


def may_give_back(
    grid: Grid,
    taken: ArrayLike,
    scores: ArrayLike,
    seconds: ArrayLike,
    advance: ArrayLike,
    *,
    settings: RoadLogSettings = USUAL,
) -> FloatArray:
    """Advance that may be given back after another drive: only where it was driven and nothing was noted.

    As a proposal, it leaves no step of more than `neighbour_limit_deg` between neighbouring cells that the map did
    not have before, and makes none of those it had larger: a cell waits for its neighbours.

    Parameters
    ----------
    grid : Grid
        The nodes of the cells, n of vacuum and m of speed.
    taken : array, shape (n, m)
        Retard taken out so far, zero or more. [degrees of crank]
    scores, seconds : array, shape (n, m)
        Of the new drive, as for `propose`.
    advance : array, shape (n, m)
        Total advance of the map that was driven, at its nodes. [degrees of crank]
    settings : RoadLogSettings
        Most given back in one drive, the time that makes a cell driven, and the limit between neighbours.

    Returns
    -------
    array, shape (n, m)
        At most `give_back_deg` and at most what was taken. [degrees of crank]

    Raises
    ------
    RoadLogError
        If a table does not fit the grid.
    TimingError
        If a retard, a score or a time is negative, or a figure is not finite.
    """
    retard = _table(grid, within(taken, "the retard taken out", low=0.0, unit="degrees"), "retards")
    score = _table(grid, within(scores, "the score", low=0.0), "scores")
    driven_s = _table(grid, within(seconds, "the time in a cell", low=0.0, unit="s"), "times")
    before = _table(grid, finite(advance, "the advance"), "advances")
    clean = ~_falls_short(driven_s, settings.quiet_s) & (score == 0.0)
    most = np.where(clean, np.minimum(retard, settings.give_back_deg), 0.0)
    # What is given back is a retard below nought: the least of it that keeps the steps is the most advance. Adding
    # nought turns minus zero into zero.
    return -_kept_to_steps(before, -most, _everywhere(settings.neighbour_limit_deg)) + 0.0


def kept_to_slope(rpm: ArrayLike, before: ArrayLike, retard: ArrayLike, *, slope_deg: float) -> FloatArray:
    """The least retard, nowhere below `retard`, with which no stretch of a curve gets steeper than the limit.

    As a proposal does with neighbouring cells: what was steeper before stays as steep as it was.

    Parameters
    ----------
    rpm : array, shape (m,)
        Speeds of the points, rising. [rpm at the crank]
    before : array, shape (m,)
        Advance at each. [degrees of crank]
    retard : array, shape (m,)
        Retard asked for at each; negative gives back. [degrees of crank]
    slope_deg : float
        The steepest stretch that is let be. [degrees of crank per 1000 rpm]

    Returns
    -------
    array, shape (m,)
        [degrees of crank]
    """
    speeds = finite(rpm, "the speeds of the points")
    gaps = slope_deg * np.diff(speeds)[:, None] / 1000.0
    kept = _kept_to_steps(finite(before, "the advance")[None, :], finite(retard, "the retard")[None, :], (gaps, gaps))
    return np.asarray(kept[0])


# As `timing.tolerance`, cell by cell.
_falls_short = np.vectorize(falls_short, otypes=[np.bool_])


def _everywhere(limit: float) -> tuple[FloatArray, FloatArray]:
    return np.array(limit), np.array(limit)


def _kept_to_steps(before: FloatArray, retard: FloatArray, limits: tuple[FloatArray, FloatArray]) -> FloatArray:
    """The least retard, nowhere below `retard`, with which no step beyond its limit appears or grows.

    `limits` are those from row to row and from column to column. A cell may stay above its neighbour by the limit, or
    by what it was above it if that is more. So it must follow the neighbour's retard, less the room it had up to the
    limit; and its own neighbours may have to follow it.
    """
    kept = retard.copy()
    while True:
        last = kept.copy()
        for axis in (0, 1):
            if kept.shape[axis] == 1:
                continue
            was, now = np.moveaxis(before, axis, 0), np.moveaxis(kept, axis, 0)
            step = np.diff(was, axis=0)
            room_above, room_below = np.maximum(limits[axis] - step, 0.0), np.maximum(limits[axis] + step, 0.0)
            for cell in range(1, len(now)):
                np.maximum(now[cell], now[cell - 1] - room_above[cell - 1], out=now[cell])
            for cell in range(len(now) - 1, 0, -1):
                np.maximum(now[cell - 1], now[cell] - room_below[cell - 1], out=now[cell - 1])
        if np.array_equal(last, kept):
            return kept


def _table(grid: Grid, values: FloatArray, label: str) -> FloatArray:
    if values.shape != grid.shape:
        rows, columns = grid.shape
        raise RoadLogError(f"the {label} must be {rows} rows of vacuum and {columns} columns of speed")
    return values
