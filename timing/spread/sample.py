"""Middle and quarters of a handful of figures, and how far the middle of all such cars may lie from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing.inputs import FloatArray, finite
from timing.spread.errors import SpreadError

# Quarters of two figures are the figures themselves (common practice, no source): nothing is summed up below three.
FEWEST = 3

_TAIL = 0.025  # either side of the range that holds the middle in 95 of 100 such samples


@dataclass(frozen=True, slots=True)
class Spread:
    """How figures spread, in their own unit.

    Attributes
    ----------
    count : int
        How many figures, three or more.
    lowest, quarter, median, three_quarters, highest : float
        A quarter of the figures lies at or below `quarter`, a quarter at or above `three_quarters`.
    likely : (low, high) or None
        Where the middle of all such cars lies in 95 of 100 cases; None where so few figures cannot tell.
    """

    count: int
    lowest: float
    quarter: float
    median: float
    three_quarters: float
    highest: float
    likely: tuple[float, float] | None


def spread_of(values: ArrayLike) -> Spread | None:
    """Middle, quarters and ends of `values`; None for fewer than three. [unit of the values]

    Quarters are read between the two nearest figures, straight (definition 7 of R. J. Hyndman and Y. Fan, Sample
    Quantiles in Statistical Packages, The American Statistician 50 (1996), 361-365).

    Parameters
    ----------
    values : sequence of float
        The figures, in any order.

    Returns
    -------
    Spread or None
        None where there are fewer than three.

    Raises
    ------
    SpreadError
        If `values` is not a list.
    TimingError
        If a figure is not a finite number.
    """
    figures = finite(values, "a figure to sum up")
    if figures.ndim != 1:
        raise SpreadError("the figures to sum up must be a list")
    if figures.size < FEWEST:
        return None
    figures.sort()
    quarter, median, three_quarters = (float(figure) for figure in sorted_quarters(figures[:, None])[:, 0])
    return Spread(
        count=figures.size,
        lowest=float(figures[0]),
        quarter=quarter,
        median=median,
        three_quarters=three_quarters,
        highest=float(figures[-1]),
        likely=_likely_median(figures),
    )


def sorted_quarters(table: FloatArray, counts: FloatArray | None = None) -> FloatArray:
    """Quarter, middle and three quarters of each column of figures that rise down the column.

    Parameters
    ----------
    table : array of shape (n, m)
        Sorted down its columns; what is not there stands last.
    counts : array of shape (m,), optional
        How many figures each column has, one or more; by default all.

    Returns
    -------
    array of shape (3, m)
        In the unit of the table.
    """
    size, columns = table.shape
    last = np.full(columns, size, dtype=float) - 1.0 if counts is None else counts - 1.0
    place = np.array([0.25, 0.5, 0.75])[:, None] * last
    below = np.floor(place).astype(int)
    above = np.minimum(below + 1, last.astype(int))
    which = np.arange(columns)
    low, high = table[below, which], table[above, which]
    return np.asarray(low + (place - below) * (high - low))


def _likely_median(figures: FloatArray) -> tuple[float, float] | None:
    """The range between two of the sorted figures that holds the median of all such cars in 95 of 100 samples.

    Whatever their distribution: how many of n figures lie below the median follows the binomial of one half. From
    five figures on down not even their ends reach 95 of 100. W. J. Conover, Practical Nonparametric Statistics, 3rd
    edition (1999), section 3.2 (the section number is from memory).
    """
    count = figures.size
    within_tail = -1
    below = 0
    while within_tail < count:
        below += math.comb(count, within_tail + 1)
        if below > _TAIL * 2**count:
            break
        within_tail += 1
    if within_tail < 0:
        return None
    return float(figures[within_tail]), float(figures[count - 1 - within_tail])
