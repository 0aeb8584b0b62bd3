"""Which speeds to read, and how well the timing will be known from them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from timing.inputs import FloatOrArray, number, same_shape_as_asked, whole, within
from timing.regression import student_t_two_sided
from timing.strobe.readings import HIGHEST_RPM, StrobeError


def speeds_to_read(lowest_rpm: float, highest_rpm: float, at_each_end: int = 4, between: int = 2) -> tuple[float, ...]:
    """Speeds for a sweep: several readings at each end, which settle the line, and some between, which test it.

    Parameters
    ----------
    lowest_rpm, highest_rpm : float
        Ends of the range, above 0, the highest the higher. [rpm at the crank]
    at_each_end, between : int
        Readings at either end, 1 or more, and evenly spaced between, 0 or more. 4 and 2: common practice, no source.

    Returns
    -------
    tuple of float
        Rising, those between rounded to 50 rpm. [rpm at the crank]

    Raises
    ------
    StrobeError
        If the range is upside down or leaves no room between.
    """
    low = number(lowest_rpm, "the lowest speed", above=0.0, high=HIGHEST_RPM, unit="rpm")
    high = number(highest_rpm, "the highest speed", above=0.0, high=HIGHEST_RPM, unit="rpm")
    ends = whole(at_each_end, "the readings at each end", low=1)
    inner = whole(between, "the readings between", low=0)
    middle = [50.0 * round((low + (high - low) * step / (inner + 1)) / 50.0) for step in range(1, inner + 1)]
    speeds = (low, *middle, high)
    if any(after <= before for before, after in pairwise(speeds)):
        raise StrobeError(f"from {low:g} to {high:g} rpm there is no room for {inner} speeds between")
    return (low,) * ends + tuple(middle) + (high,) * ends


@dataclass(frozen=True, slots=True)
class Precision:
    """How well a session will know the timing, made by `expected_precision`: half widths of the intervals.

    Attributes
    ----------
    sync_deg : float
        Of the part that is the same angle at every speed. [degrees of crank]
    lag_us : float
        Of the part that is the same time at every speed. [microseconds]
    """

    sync_deg: float
    lag_us: float
    _half_of_mean: float
    _mean_rpm: float
    _spread: float
    _count: int

    def mean_at(self, rpm: ArrayLike) -> FloatOrArray:
        """Half width of the interval of the mean error at `rpm`, 0 or more. [degrees of crank]"""
        speeds = within(rpm, "engine speed", low=0.0, high=HIGHEST_RPM, unit="rpm")
        away = (speeds - self._mean_rpm) ** 2 / self._spread
        return same_shape_as_asked(np.asarray(self._half_of_mean * np.sqrt(1.0 + self._count * away)))


def expected_precision(rpm: ArrayLike, scatter_deg: float, confidence: float = 0.95) -> Precision:
    """How well the timing will be known from readings at these speeds, if they scatter by so much.

    Parameters
    ----------
    rpm : array, shape (n,)
        Planned speeds, above 0, three or more and not all equal. [rpm at the crank]
    scatter_deg : float
        Standard deviation of a reading, above 0; whole degrees alone make 0.29. [degrees of crank]
    confidence : float
        Of the intervals, above 0 and below 1.

    Raises
    ------
    StrobeError
        If there are fewer than three speeds, or all are equal.
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    Textbook formulas of the straight line, handbook section 5: with x = 6 rpm, SE(lag) = s / sqrt(Sxx), SE(sync) =
    s sqrt(1/n + xbar^2 / Sxx), and the half width is Student's t with n - 2 degrees of freedom times that.
    """
    speeds = within(rpm, "a speed", above=0.0, high=HIGHEST_RPM, unit="rpm")
    scatter = number(scatter_deg, "the scatter of a reading", above=0.0, unit="degrees")
    if speeds.ndim != 1 or speeds.size < 3:
        raise StrobeError("three speeds or more are needed to plan a session")
    mean = float(speeds.mean())
    spread = float(((speeds - mean) ** 2).sum())
    if np.ptp(speeds) == 0.0:
        raise StrobeError(f"all speeds are {speeds[0]:g} rpm: a lag cannot be told from a constant error there")
    t = student_t_two_sided(confidence, speeds.size - 2)
    half_of_mean = t * scatter / math.sqrt(speeds.size)
    return Precision(
        sync_deg=t * scatter * math.sqrt(1.0 / speeds.size + mean**2 / spread),
        lag_us=1e6 * t * scatter / (6.0 * math.sqrt(spread)),
        _half_of_mean=half_of_mean,
        _mean_rpm=mean,
        _spread=spread,
        _count=int(speeds.size),
    )
