"""How many of how many, and what that says of all such cars."""

from __future__ import annotations

import math
from dataclasses import dataclass

from timing.inputs import whole
from timing.spread.sample import FEWEST

_TWO_SIDED_95 = 1.959963984540054  # of the standard normal distribution (any table prints 1.96)


@dataclass(frozen=True, slots=True)
class Share:
    """A count among cars.

    Attributes
    ----------
    count, of : int
        How many, and of how many.
    low, high : float
        Where the share of all such cars lies in about 95 of 100 cases, 0 to 1.
    """

    count: int
    of: int
    low: float
    high: float

    @property
    def says_something(self) -> bool:
        """Whether it is of three or more: a share of two is none."""
        return self.of >= FEWEST


def share_of(count: int, of: int) -> Share | None:
    """`count` among `of`, with the range in which the share of all such cars is likely to lie; None for none.

    E. B. Wilson, Probable Inference, the Law of Succession, and Statistical Inference, Journal of the American
    Statistical Association 22 (1927), 209-212: it stays between none and all, and says something for small numbers.

    Parameters
    ----------
    count, of : int
        How many, and of how many.

    Returns
    -------
    Share or None
        None where `of` is 0.

    Raises
    ------
    TimingError
        If one is no whole number, or more are counted than there are.
    """
    among = whole(of, "the number of cars", low=0)
    counted = whole(count, "the number counted", low=0, high=among)
    if not among:
        return None
    square = _TWO_SIDED_95**2
    middle = (counted + square / 2) / (among + square)
    half = _TWO_SIDED_95 / (among + square) * math.sqrt(counted * (among - counted) / among + square / 4)
    # none of n begins at nought, and all of n ends at one, whatever the last bit says
    low = 0.0 if counted == 0 else middle - half
    high = 1.0 if counted == among else middle + half
    return Share(counted, among, low, high)
