"""The advance the factory allows a distributor: a lowest and a highest curve."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from timing.crank import crank_from_distributor
from timing.curve import AdvanceCurve
from timing.distributor.errors import DistributorError
from timing.inputs import FloatOrArray, finite, same_shape_as_asked, within
from timing.tolerance import LIMIT_TOLERANCE, exceeds


@dataclass(frozen=True, slots=True)
class FactoryBand:
    """The centrifugal advance a sound distributor has, base timing not included.

    Attributes
    ----------
    lower, upper : AdvanceCurve
        Least and most advance over speed. [rpm at the crank, degrees of crank]

    Raises
    ------
    DistributorError
        If the lower curve is above the upper one anywhere.
    """

    lower: AdvanceCurve
    upper: AdvanceCurve

    def __post_init__(self) -> None:
        room = self.upper.difference(self.lower)
        for rpm, degrees in zip(room.rpm, room.degrees, strict=True):
            if exceeds(0.0, degrees):
                raise DistributorError(f"the lowest advance is {-degrees:g}° above the highest at {rpm:g} rpm")

    @property
    def middle(self) -> AdvanceCurve:
        """The curve half way between the two: what a distributor is set to where nothing better is known."""
        return self.lower.blend(self.upper, 0.5)

    def outside(self, degrees: ArrayLike, *, rpm: ArrayLike) -> FloatOrArray:
        """How far an advance lies outside: positive above the upper curve (early), negative below the lower, 0 inside.

        Parameters
        ----------
        degrees : float or array
            Advance, base timing not included. [degrees of crank]
        rpm : float or array
            Engine speed, zero or more; broadcast against `degrees`. [rpm at the crank]

        Returns
        -------
        float or array
            Of the shape of both together; exactly 0 on the edges. [degrees of crank]

        Raises
        ------
        TimingError
            If a speed is negative or a figure is not finite.
        """
        advance = finite(degrees, "advance")
        speeds = within(rpm, "engine speed", low=0, unit="rpm")
        above = np.maximum(advance - self.upper.advance(speeds), 0.0)
        below = np.maximum(self.lower.advance(speeds) - advance, 0.0)
        off = np.asarray(above - below)
        # A reading on the edge is inside: interpolation between points may miss the edge by rounding.
        return same_shape_as_asked(np.where(np.abs(off) <= LIMIT_TOLERANCE, 0.0, off))


def factory_band(rows: Iterable[Sequence[float]], strokes: int = 4) -> FactoryBand:
    """The band of a factory table given in distributor speed and degrees.

    Parameters
    ----------
    rows : iterable of (rpm, lowest, highest)
        Distributor speed, rising, and the least and most advance there; at least one row. A line 'no advance below'
        is a row with two zeros. [rpm and degrees of the distributor]
    strokes : int
        4: the distributor turns at half the crank's speed, so speeds and degrees double. 2: at the crank's speed.

    Returns
    -------
    FactoryBand
        At the crank.

    Raises
    ------
    DistributorError
        If a row has not three figures, speeds do not rise, or a lowest advance is above its highest.
    TimingError
        If a figure is not finite or a speed is negative.

    References
    ----------
    Derived: `timing.crank.crank_from_distributor`.
    """
    given = [tuple(row) for row in rows]
    if not given:
        raise DistributorError("the factory's table has no row")
    if any(len(row) != 3 for row in given):
        raise DistributorError("each row of the factory's table needs a speed, a lowest and a highest advance")
    table = finite(given, "a figure of the factory's table")
    speeds = table[:, 0]
    within(speeds, "a distributor speed", low=0, unit="rpm")
    for before, after in pairwise(speeds):
        if after <= before:
            raise DistributorError(f"the speeds of the table must rise, but {after:g} rpm comes after {before:g} rpm")
    for speed, least, most in table:
        if least > most:
            raise DistributorError(
                f"at {speed:g} distributor rpm the lowest advance, {least:g}°, is above the highest, {most:g}°"
            )
    rpm, least_advance, most_advance = np.asarray(crank_from_distributor(table.T, strokes))
    return FactoryBand(AdvanceCurve(rpm, least_advance), AdvanceCurve(rpm, most_advance))
