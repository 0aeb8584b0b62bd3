"""The ramp that fits a capsule's readings best, and every ramp that fits them nearly as well."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from timing.inputs import FloatArray
from timing.units import HIGHEST_BAROMETER_KPA

# Begin and full vacuum are tried at these steps, well below what a vacuum gauge is read to. Where full vacuum lies
# beyond the last reading the ramp is not seen there, and wide steps say as much.
_STEP_KPA = 0.5
_UNSEEN_STEP_KPA = 5.0

# A ramp is as believable as the best one where its squares, over those of a reading, are no more than this above
# (chi-squared, one degree of freedom, 95 %).
_BELIEVABLE = 3.841459

# How many standard errors of a reading one in a hundred exceeds on one side.
_ONE_IN_A_HUNDRED = 2.326348


class Likely(NamedTuple):
    """A figure and the range in which it lies in 95 of 100 such sets of readings."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class RampFit:
    """A ramp fitted to readings, made by `fit_ramp`.

    Attributes
    ----------
    start_kpa, full_kpa : Likely
        Where the advance begins, and where it is complete. [kPa below atmosphere]
    full_deg : Likely
        The advance once complete. [degrees of crank]
    slope_deg_per_kpa : Likely
        How fast it rises between. [degrees of crank per kPa]
    rest_deg : float
        Of the best ramp, where no vacuum acts: by how much the reading without vacuum was off. [degrees of crank]
    squares : float
        Sum of squares about the best ramp, over the square of a reading's own scatter.
    df : int
        Readings less what is fitted; 0 or less says that the readings cannot contradict a ramp.
    """

    start_kpa: Likely
    full_kpa: Likely
    full_deg: Likely
    slope_deg_per_kpa: Likely
    rest_deg: float
    squares: float
    df: int

    @property
    def is_a_ramp(self) -> bool:
        """Whether readings of a ramp lie about it as widely as these in more than one of a hundred sets."""
        return self.df <= 0 or self.squares <= _chi_squared_99(self.df)

    def at(self, vacuum_kpa: FloatArray) -> FloatArray:
        """Advance of the best ramp. [degrees of crank]"""
        ends = (self.start_kpa.value, self.full_kpa.value)
        return np.asarray(self.rest_deg + np.interp(vacuum_kpa, ends, (0.0, self.full_deg.value)))


def fit_ramp(degrees: FloatArray, *, vacuum_kpa: FloatArray, scatter_deg: float) -> RampFit:
    """Fit a ramp to readings: none up to its begin, a straight line to its full advance, then held.

    Parameters
    ----------
    degrees : array, shape (n,)
        Advance read less the advance read once without vacuum. [degrees of crank]
    vacuum_kpa : array, shape (n,)
        Vacuum applied, 0 or more. [kPa below atmosphere]
    scatter_deg : float
        Standard deviation of a reading, above 0. [degrees of crank]

    Returns
    -------
    RampFit
        The best ramp, and the range of each figure over all ramps that are believable.

    References
    ----------
    Least squares over a grid of begin and full vacuum, the advance solved for at each; the ranges are those of the
    profile likelihood: Venzon and Moolgavkar 1988, Applied Statistics 37, 87 (from memory). The reading without
    vacuum is in error as any other, and all advances with it: it is fitted as well, held near 0 by that reading.
    """
    top = min(max(float(vacuum_kpa.max()), _STEP_KPA), HIGHEST_BAROMETER_KPA - _STEP_KPA)
    unseen = np.arange(top + _UNSEEN_STEP_KPA, HIGHEST_BAROMETER_KPA, _UNSEEN_STEP_KPA)
    begins, fulls = np.meshgrid(
        np.arange(0.0, top, _STEP_KPA),
        np.append(np.arange(_STEP_KPA, top + _STEP_KPA, _STEP_KPA), unseen),
    )
    rises = fulls > begins
    begin, full = begins[rises], fulls[rises]
    share = np.clip((vacuum_kpa[:, None] - begin) / (full - begin), 0.0, 1.0)
    count = len(vacuum_kpa) + 1  # with the reading without vacuum, which is 0 by its nature
    shares, squared = share.sum(axis=0), (share**2).sum(axis=0)
    total, crossed = float(degrees.sum()), degrees @ share
    spread = np.maximum(count * squared - shares**2, 1e-12)
    advance = np.maximum((count * crossed - shares * total) / spread, 0.0)
    rest = (total - advance * shares) / count
    about_the_ramp = (
        float(degrees @ degrees)
        - 2.0 * (rest * total + advance * crossed)
        + rest**2 * count
        + 2.0 * rest * advance * shares
        + advance**2 * squared
    )
    squares = np.maximum(about_the_ramp, 0.0) / scatter_deg**2
    # Of ramps that fit alike the gentlest: readings far apart cannot tell a steep one from it.
    alike = np.flatnonzero(squares <= squares.min() + 1e-9)
    best = int(alike[np.argmin((advance / (full - begin))[alike])])
    slack = _BELIEVABLE - (squares - squares[best])
    # With begin and full vacuum given, so far may the advance be off before the squares say so.
    off = scatter_deg * np.sqrt(np.maximum(slack, 0.0) * count / spread)
    width = full - begin

    def likely(figure: FloatArray, off: FloatArray | float = 0.0) -> Likely:
        low, high = (figure - off)[slack >= 0.0], (figure + off)[slack >= 0.0]
        return Likely(float(figure[best]), float(low.min()), float(high.max()))

    return RampFit(
        start_kpa=likely(begin),
        full_kpa=likely(full),
        full_deg=likely(advance, off),
        slope_deg_per_kpa=likely(advance / width, off / width),
        rest_deg=float(rest[best]),
        squares=float(squares[best]),
        df=len(vacuum_kpa) - 3,
    )


def _chi_squared_99(df: int) -> float:
    """Exceeded in one of a hundred. Wilson and Hilferty 1931 (from memory); scipy agrees within 0.2 from df 1 on."""
    part = 2.0 / (9.0 * df)
    return float(df * (1.0 - part + _ONE_IN_A_HUNDRED * math.sqrt(part)) ** 3)
