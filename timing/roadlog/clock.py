"""The clock of a logger: whether it can be trusted, and where."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.inputs import FloatArray, finite
from timing.roadlog.settings import USUAL, RoadLogSettings


class ClockCheck(NamedTuple):
    """What is odd about the times of a log. Places count samples from 0.

    Attributes
    ----------
    backwards : array of int
        Samples that are earlier than one before them.
    jump_at, jump_s : int, float
        The sample from which the clock goes on furthest ahead, and by how much; -1 and 0 for a log of one sample. [s]
    twice : array of int
        Samples at the very time of the one before.
    gaps : array of int
        Samples followed by a gap longer than `longest_gap_s`.
    gap_s : float
        Time in those gaps beyond `longest_gap_s`. [s]
    """

    backwards: NDArray[np.intp]
    jump_at: int
    jump_s: float
    twice: NDArray[np.intp]
    gaps: NDArray[np.intp]
    gap_s: float


def check_clock(t_s: ArrayLike, *, settings: RoadLogSettings = USUAL) -> ClockCheck:
    """What is odd about the times of a log, in whatever order they come.

    Parameters
    ----------
    t_s : array, shape (k,)
        Times of at least one sample. [s]
    settings : RoadLogSettings
        The longest gap.

    Returns
    -------
    ClockCheck
        Twice, gaps and jumps are looked for among the samples that do not run backwards.

    Raises
    ------
    TimingError
        If a time is not finite.
    """
    times = finite(t_s, "the time")
    is_behind = times < np.maximum.accumulate(times)
    forward = np.flatnonzero(~is_behind)
    steps = np.diff(times[forward])
    wide = steps > settings.longest_gap_s
    furthest = int(np.argmax(steps)) if steps.size else -1
    return ClockCheck(
        backwards=np.flatnonzero(is_behind),
        jump_at=int(forward[furthest]) if steps.size else -1,
        jump_s=float(steps[furthest]) if steps.size else 0.0,
        twice=forward[1:][steps == 0.0],
        gaps=forward[:-1][wide],
        gap_s=float((steps[wide] - settings.longest_gap_s).sum()),
    )


def spread_ties(t_s: ArrayLike, *, settings: RoadLogSettings = USUAL) -> FloatArray:
    """Times of which several are the same, spread evenly up to the next time that differs.

    A logger that writes whole seconds writes each of them several times. Nothing is spread further than
    `longest_gap_s`; the samples at the last time of all are spread as closely as those before them.

    Parameters
    ----------
    t_s : array, shape (k,)
        Never falling. [s]
    settings : RoadLogSettings
        The longest gap.

    Returns
    -------
    array, shape (k,)
        [s]

    Raises
    ------
    TimingError
        If a time is not finite.
    """
    times = finite(t_s, "the time")
    if times.size < 2 or not (np.diff(times) == 0.0).any():
        return times
    starts = np.flatnonzero(np.diff(times, prepend=-np.inf))
    counts = np.diff(starts, append=times.size)
    steps = np.minimum(np.diff(times[starts]), settings.longest_gap_s)
    each = np.append(steps, float(np.median(steps)) if steps.size else 0.0) / counts
    behind = np.arange(times.size) - np.repeat(starts, counts)
    return times + behind * np.repeat(each, counts)
