"""A person's notes of pinking: which speed and vacuum they belong to, and how they are shared among cells."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.inputs import FloatArray, FloatOrArray, finite, same_shape_as_asked, within
from timing.roadlog.grid import Grid
from timing.roadlog.log import Log
from timing.roadlog.settings import USUAL, RoadLogError, RoadLogSettings


class PlacedNotes(NamedTuple):
    """Where notes belong. Floats for one note, arrays for many.

    Attributes
    ----------
    rpm : float or array
        [rpm at the crank]
    vacuum : float or array
        [kPa below atmosphere]
    covered_s : float or array
        How much of the window the log covers; less than the whole window is a weaker placing. [s]
    """

    rpm: FloatOrArray
    vacuum: FloatOrArray
    covered_s: FloatOrArray


def place_notes(
    noted_at_s: ArrayLike,
    t_s: ArrayLike,
    *,
    rpm: ArrayLike,
    vacuum: ArrayLike,
    leave_out: ArrayLike | None = None,
    settings: RoadLogSettings = USUAL,
) -> PlacedNotes:
    """Speed and vacuum that notes belong to: the mean over a window before each, weighted by time.

    A note comes after what it is about: the window runs from 2.0 s to 0.5 s before it (common practice, no
    source). Samples hold until the next, for `longest_gap_s` at most; slow and left-out ones do not count.

    Parameters
    ----------
    noted_at_s : float or array
        When the notes were made, on the log's clock. [s]
    t_s, rpm, vacuum, leave_out
        The log, as for `occupancy`.
    settings : RoadLogSettings
        The window, longest gap and lowest speed.

    Returns
    -------
    PlacedNotes
        Of the shape of `noted_at_s`.

    Raises
    ------
    RoadLogError
        If the log has nothing in the window of a note, or cannot be read.
    TimingError
        If a figure is not finite, or a speed is negative.
    """
    log = Log(t_s, rpm=rpm, vacuum=vacuum, leave_out=leave_out, settings=settings)
    for _ in log.runs():  # a log that cannot be read is refused as a whole, wherever its notes are
        pass
    moments = finite(noted_at_s, "the time of a note")
    placed = np.array([_placed(log, float(moment), settings) for moment in moments.flat]).reshape(-1, 3)
    columns = (same_shape_as_asked(column.reshape(moments.shape)) for column in placed.T)
    return PlacedNotes(*columns)


def _placed(log: Log, noted_at_s: float, settings: RoadLogSettings) -> tuple[float, float, float]:
    begins, ends = noted_at_s - settings.window_from_s, noted_at_s - settings.window_to_s
    first = max(0, int(np.searchsorted(log.t_s, begins, side="right")) - 1)
    last = max(first + 1, int(np.searchsorted(log.t_s, ends)))
    run = log.stretch(first, last)
    starts = log.t_s[run.at]
    covered = np.maximum(np.minimum(starts + run.counted_s, ends) - np.maximum(starts, begins), 0.0)
    if run.dropped is not None:
        covered = np.where(run.dropped, 0.0, covered)
    total = float(covered.sum())
    if total <= 0.0:
        raise RoadLogError(
            f"the log has nothing between {begins:g} s and {ends:g} s: the note at {noted_at_s:g} s cannot be placed"
        )
    shares = covered / total
    return float(shares @ run.rpm), float(shares @ run.vacuum), total


def spread_notes(
    grid: Grid,
    *,
    rpm: ArrayLike,
    vacuum: ArrayLike,
    severity: ArrayLike,
    settings: RoadLogSettings = USUAL,
) -> FloatArray:
    """Score of each cell: every note's severity, shared among the four nodes around it by bilinear weights.

    For notes of pinking only. Flat spots, run-on, kick-back and hot starts may have another cause as easily; show
    them in their cells (`Grid.cells`) and leave the number to a person.

    Parameters
    ----------
    grid : Grid
        The nodes of the cells.
    rpm, vacuum : float or array
        Where the notes belong; outside the grid they count at its edge. [rpm at the crank], [kPa]
    severity : float or array
        1 trace, 2 clear, 3 heavy; above zero, at most `heaviest`.
    settings : RoadLogSettings
        The highest severity.

    Returns
    -------
    array, shape (n, m)
        A row for each vacuum, a column for each speed; its sum is the sum of the severities.

    Raises
    ------
    TimingError
        If a severity is out of its range, a figure is not finite, or the shapes differ.
    """
    severities = within(severity, "the severity", above=0.0, high=settings.heaviest)
    return grid.shared(rpm=rpm, vacuum=vacuum, amount=severities)
