"""What was changed in several maps at one place: in how many, which way, and by how much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing.inputs import finite, number
from timing.spread.errors import SpreadError
from timing.spread.sample import FEWEST


@dataclass(frozen=True, slots=True)
class Change:
    """Changes at one place.

    Attributes
    ----------
    of : int
        How many maps were looked at.
    less, more : tuple of int
        Which of them have less advance than before, and which more, by their place in the list.
    typical_less, typical_more : float or None
        The middle of those changes, with its sign; None for fewer than three. [degrees of crank]
    """

    of: int
    less: tuple[int, ...]
    more: tuple[int, ...]
    typical_less: float | None
    typical_more: float | None


def change_of(degrees: ArrayLike, *, least: float = 0.25) -> Change:
    """In how many maps the advance was changed at one place, and how the changes lie.

    Parameters
    ----------
    degrees : sequence of float
        After less before, one a map. [degrees of crank]
    least : float
        What is smaller is no change: the rounding of a unit's steps. [degrees of crank]

    Returns
    -------
    Change
        Less and more apart: their mean would hide both.

    Raises
    ------
    SpreadError
        If `degrees` is not a list.
    TimingError
        If a figure is not finite, or `least` not above 0.
    """
    figures = finite(degrees, "a change of advance")
    smallest = number(least, "the least change that counts", above=0, unit="degrees")
    if figures.ndim != 1:
        raise SpreadError("the changes must be a list")
    less, more = np.flatnonzero(figures <= -smallest), np.flatnonzero(figures >= smallest)
    return Change(
        of=figures.size,
        less=tuple(less.tolist()),
        more=tuple(more.tolist()),
        typical_less=float(np.median(figures[less])) if less.size >= FEWEST else None,
        typical_more=float(np.median(figures[more])) if more.size >= FEWEST else None,
    )
