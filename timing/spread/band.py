"""The maps of several cars as one band: at every speed the middle, the quarters, and from how many cars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray, finite, number, within
from timing.spread.errors import SpreadError
from timing.spread.sample import FEWEST, sorted_quarters


@dataclass(frozen=True, slots=True, eq=False)
class AdvanceBand:
    """How the advance of several maps spreads at each place. Without figures where fewer than three maps speak.

    Attributes
    ----------
    at : array of shape (m,)
        The places: speeds, or vacua. [rpm at the crank, or kPa below atmosphere]
    count : array of int, shape (m,)
        How many maps speak there.
    lowest, quarter, median, three_quarters, highest : array of shape (m,)
        NaN where fewer than three maps speak. [degrees of crank]
    """

    at: FloatArray
    count: NDArray[np.int64]
    lowest: FloatArray
    quarter: FloatArray
    median: FloatArray
    three_quarters: FloatArray
    highest: FloatArray

    @property
    def speaks(self) -> NDArray[np.bool_]:
        """Where there are figures: three maps or more, shape (m,)."""
        return np.asarray(self.count >= FEWEST)

    def rows(self) -> list[tuple[float, float, float, float]]:
        """Place, quarter, middle and three quarters wherever there are figures, as a chart takes them."""
        told = self.speaks
        columns = (self.at[told], self.quarter[told], self.median[told], self.three_quarters[told])
        return list(zip(*(column.tolist() for column in columns), strict=True))


def advance_band(maps: Sequence[IgnitionMap], *, rpm: ArrayLike, vacuum: float = 0.0) -> AdvanceBand:
    """Total advance of `maps` at each speed and one vacuum, 0 for a wide-open throttle.

    A map speaks up to its rev limit, and at every speed where it has none: beyond its last node it holds, as the
    unit does.

    Parameters
    ----------
    maps : sequence of IgnitionMap
        One a car, as its unit delivers it.
    rpm : array of shape (m,)
        The speeds. [rpm at the crank]
    vacuum : float
        Manifold vacuum, the same for all. [kPa below atmosphere]

    Returns
    -------
    AdvanceBand
        Over speed. [degrees of crank before top dead centre]

    Raises
    ------
    SpreadError
        If the speeds are not a list.
    TimingError
        If a speed is negative, or a figure not finite.
    """
    kpa = number(vacuum, "the vacuum of a band", unit="kPa")
    speeds = within(rpm, "the speeds of a band", low=0, unit="rpm")
    return band_of(speeds, totals(maps, rpm=speeds, vacuum=[kpa])[0])


def totals(maps: Sequence[IgnitionMap], *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatArray:
    """Total advance of `maps` at each speed and vacuum; NaN beyond a map's rev limit.

    Parameters
    ----------
    maps : sequence of IgnitionMap
        n of them.
    rpm : array of shape (m,)
        The speeds. [rpm at the crank]
    vacuum : array of shape (k,)
        The vacua. [kPa below atmosphere]

    Returns
    -------
    array of shape (k, n, m)
        [degrees of crank before top dead centre]

    Raises
    ------
    SpreadError
        If speeds or vacua are not a list.
    TimingError
        If a speed is negative, or a figure not finite.
    """
    speeds = within(rpm, "the speeds of a band", low=0, unit="rpm")
    vacua = finite(vacuum, "the vacua of a band")
    if speeds.ndim != 1 or vacua.ndim != 1:
        raise SpreadError("the speeds and the vacua of a band must be lists")
    table = np.full((vacua.size, len(maps), speeds.size), np.nan)
    for place, one in enumerate(maps):
        speaks = speeds <= (np.inf if one.rev_limit_rpm is None else one.rev_limit_rpm)
        table[:, place, speaks] = one.total(rpm=speeds[speaks], vacuum=vacua[:, None])
    return table


def vacuum_band(maps: Sequence[IgnitionMap], *, vacuum: ArrayLike, rpm: float) -> AdvanceBand:
    """What vacuum adds in `maps` at each vacuum and one speed.

    A map without a vacuum part adds nothing, and counts as that.

    Parameters
    ----------
    maps : sequence of IgnitionMap
        One a car, as its unit delivers it.
    vacuum : array of shape (m,)
        The vacua, none of them boost. [kPa below atmosphere]
    rpm : float
        The speed. [rpm at the crank]

    Returns
    -------
    AdvanceBand
        Over vacuum. [degrees of crank]

    Raises
    ------
    SpreadError
        If the vacua are not a list.
    TimingError
        If a figure is negative or not finite.
    """
    vacua = within(vacuum, "the vacua of a band", low=0, unit="kPa")
    speed = number(rpm, "the speed of a band", low=0, unit="rpm")
    if vacua.ndim != 1:
        raise SpreadError("the vacua of a band must be a list")
    table = np.zeros((len(maps), vacua.size))
    for row, one in zip(table, maps, strict=True):
        if one.vacuum is not None:
            row[:] = one.vacuum.advance(rpm=speed, vacuum=vacua)
    return band_of(vacua, table)


def band_of(at: ArrayLike, table: FloatArray) -> AdvanceBand:
    """The band of a table of advances.

    Parameters
    ----------
    at : array of shape (m,)
        The places, such as speeds.
    table : array of shape (n, m)
        One row a map, NaN where a map does not speak. [degrees of crank]

    Returns
    -------
    AdvanceBand
        Over `at`. [degrees of crank]
    """
    places = np.asarray(at, dtype=float)
    count = np.isfinite(table).sum(axis=0)
    told = count >= FEWEST
    figures = np.full((5, places.size), np.nan)
    if told.any():
        rising = np.sort(table[:, told], axis=0)  # NaN is sorted last
        counts = count[told]
        figures[0, told] = rising[0]
        figures[1:4, told] = sorted_quarters(rising, counts.astype(float))
        figures[4, told] = rising[counts - 1, np.arange(counts.size)]
    return AdvanceBand(places, count, *figures)
