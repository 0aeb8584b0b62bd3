"""A long log made small for a picture: the lowest and highest of ever more samples, so that no peak is lost."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.inputs import FloatArray, finite, number, whole
from timing.roadlog.settings import RoadLogError

# Samples in a span of the finest level, and spans of one level in a span of the next.
FINEST, COARSER = 16, 4
# No level has fewer spans than a screen has columns: a coarser one would never be asked for.
FEWEST_SPANS = 512

SingleArray = NDArray[np.float32]


class Level(NamedTuple):
    """A log in spans of equally many samples.

    Attributes
    ----------
    samples : int
        How many samples a span has; the last one may have fewer.
    t_s : array, shape (k,)
        Time of the first sample of each span. [s]
    low, high : array of float32, shape (c, k)
        Lowest and highest of each of the c columns in each span; NaN where no sample of it has a figure.
    """

    samples: int
    t_s: FloatArray
    low: SingleArray
    high: SingleArray


def pyramid(t_s: ArrayLike, columns: ArrayLike) -> tuple[Level, ...]:
    """The levels of a log, the finest first; a short log has one.

    Parameters
    ----------
    t_s : array, shape (n,)
        Time of each sample, never falling. [s]
    columns : array, shape (c, n)
        Figures of each sample, in any unit; NaN where there is none.

    Returns
    -------
    tuple of Level

    Raises
    ------
    RoadLogError
        If there is no sample, or the columns are of another length.
    TimingError
        If a time is not finite.
    """
    times = finite(t_s, "the time")
    figures = np.atleast_2d(np.asarray(columns, dtype=np.float32))
    if not times.size or figures.shape[1:] != times.shape:
        raise RoadLogError(f"{times.size} times and {figures.shape[-1]} figures make no time line")
    levels = [_coarser(Level(1, times, figures, figures), FINEST)]
    while levels[-1].t_s.size > FEWEST_SPANS * COARSER:
        levels.append(_coarser(levels[-1], COARSER))
    return tuple(levels)


def _coarser(level: Level, factor: int) -> Level:
    starts = np.arange(0, level.t_s.size, factor)
    return Level(
        level.samples * factor,
        level.t_s[starts],
        np.fmin.reduceat(level.low, starts, axis=1),
        np.fmax.reduceat(level.high, starts, axis=1),
    )


def finest_within(levels: tuple[Level, ...], *, from_s: float, to_s: float, most: int) -> tuple[int, slice]:
    """Which level shows a stretch of time in at most so many spans, and which of its spans.

    The spans reach over both ends of the stretch, so that a line goes on to the edge of its picture.

    Parameters
    ----------
    levels : tuple of Level
        From `pyramid`.
    from_s, to_s : float
        Ends of the stretch. [s]
    most : int
        Most spans wanted, at least one.

    Returns
    -------
    level, spans : int, slice
        The place in `levels`, and the spans of it. The coarsest level may have more than `most`.

    Raises
    ------
    RoadLogError
        If there is no level, or the stretch ends before it begins.
    TimingError
        If a figure is not finite.
    """
    begin, end = number(from_s, "the beginning", unit="s"), number(to_s, "the end", unit="s")
    limit = whole(most, "the most spans", low=1)
    if not levels or end < begin:
        raise RoadLogError(f"no time line from {begin:g} s to {end:g} s")
    for place, level in enumerate(levels):
        spans = reaching_over(level.t_s, from_s=begin, to_s=end)
        if spans.stop - spans.start <= limit or place == len(levels) - 1:
            return place, spans
    raise AssertionError("the last level was given back")  # pragma: no cover


def reaching_over(t_s: FloatArray, *, from_s: float, to_s: float) -> slice:
    """The places in `t_s`, never falling, of a stretch of time, with the neighbours on both sides.

    Parameters
    ----------
    t_s : array, shape (k,)
        [s]
    from_s, to_s : float
        Ends of the stretch. [s]

    Returns
    -------
    slice
    """
    first = max(0, int(np.searchsorted(t_s, from_s, side="right")) - 1)
    return slice(first, min(t_s.size, int(np.searchsorted(t_s, to_s, side="right")) + 1))
