"""The closest a unit can come to a curve, holding only certain degrees at certain speeds: found exactly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from timing.curve import AdvanceCurve, CurveError, rising_speeds
from timing.grid import DegreeSteps, GridFitError
from timing.gridsearch import best_nodes
from timing.inputs import FloatArray, whole

__all__ = ["Band", "GridFit", "GridFitError", "fit_free", "fit_to", "judged"]

# A lower and an upper curve.
Band: TypeAlias = tuple[AdvanceCurve, AdvanceCurve]


@dataclass(frozen=True, slots=True)
class GridFit:
    """What a unit can hold of a curve, and what that costs.

    Attributes
    ----------
    curve : AdvanceCurve
        The curve to key in.
    worst_error : float
        Its largest distance from the target at any speed, either way. [degrees of crank]
    at_rpm : float
        Where that stands; the lowest such speed. [rpm at the crank]
    """

    curve: AdvanceCurve
    worst_error: float
    at_rpm: float


def fit_to(
    target: AdvanceCurve,
    nodes: ArrayLike,
    step: float,
    low: float = 0,
    high: float = 60,
    *,
    never_above: bool = False,
    within: Band | None = None,
) -> GridFit:
    """The closest curve to `target` that a unit can hold: its nodes at `nodes`, its values on `step`.

    The result is the best there is, and not the rounding of each node on its own: it has the smallest possible largest
    error. Of several such curves the one with the least sum of squared errors over the nodes of both curves is taken,
    then the one that is lower at the lowest node where they differ.

    Parameters
    ----------
    target : AdvanceCurve
        The curve to follow.
    nodes : sequence of float, length m
        Speeds of the unit's nodes, rising. [rpm at the crank]
    step : float
        The unit holds whole multiples of this, above zero. [degrees of crank]
    low, high : float
        The lowest and the highest value the unit holds. [degrees of crank]
    never_above : bool
        Never more advanced than the target, at any speed: for a curve already at the edge of knock.
    within : pair of AdvanceCurve
        Stay between these two curves, lower and upper, at every speed.

    Returns
    -------
    GridFit
        The curve, its largest error and where that stands.

    Raises
    ------
    GridFitError
        If no multiple of the step lies between the limits, the search is too large, or no curve the unit can hold
        stays where it is told to: the message says at which speeds.
    TimingError
        If a figure is not a number, or the speeds do not rise.

    Notes
    -----
    Exact (see `timing.gridsearch`); a mixed-integer programme gives the same figures.

    References
    ----------
    Handbook, section 4.
    """
    speeds = rising_speeds(nodes)
    return _fitted(target, speeds, speeds.size, DegreeSteps(step, low, high), never_above, within)


def fit_free(
    target: AdvanceCurve,
    count: int,
    raster: ArrayLike,
    step: float,
    low: float = 0,
    high: float = 60,
    *,
    never_above: bool = False,
    within: Band | None = None,
) -> GridFit:
    """As `fit_to`, for a unit whose `count` nodes may stand at any of the speeds in `raster`.

    The sum of squared errors that settles a tie is taken over the nodes of the target and those chosen.

    Parameters
    ----------
    target : AdvanceCurve
        The curve to follow.
    count : int
        How many nodes the unit has, all of which are used.
    raster : sequence of float, length P
        The speeds a node may stand at, rising, at least `count` of them. [rpm at the crank]
    step, low, high, never_above, within
        As for `fit_to`.

    Returns
    -------
    GridFit
        As `fit_to`.

    Raises
    ------
    CurveError
        If the raster has fewer speeds than there are nodes.
    GridFitError, TimingError
        As for `fit_to`.

    References
    ----------
    Handbook, section 4.
    """
    speeds = rising_speeds(raster)
    nodes = whole(count, "the number of nodes", low=1)
    if nodes > speeds.size:
        raise CurveError(f"{nodes} nodes cannot stand at {speeds.size} different speeds")
    return _fitted(target, speeds, nodes, DegreeSteps(step, low, high), never_above, within)


def judged(curve: AdvanceCurve, target: AdvanceCurve) -> GridFit:
    """What it costs to hold `curve` where `target` was asked for.

    Parameters
    ----------
    curve, target : AdvanceCurve
        What the unit holds, and what it was asked for.

    Returns
    -------
    GridFit
        The curve with its largest error and where that stands.
    """
    gap, at_rpm = curve.largest_difference(target)
    return GridFit(curve, abs(gap), at_rpm)


@dataclass(frozen=True, slots=True, eq=False)
class _Bounds:
    """Where a fitted curve has to stay: not below `floor`, nor above any of `ceilings`.

    `rule` completes the sentence 'no setting of the unit keeps the curve …'.
    """

    rule: str
    floor: AdvanceCurve | None = None
    ceilings: tuple[AdvanceCurve, ...] = ()

    def at(self, rpm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """The lowest and the highest advance allowed at `rpm`, infinite where none is set. [degrees]"""
        low = np.full(rpm.size, -np.inf)
        high = np.full(rpm.size, np.inf)
        if self.floor is not None:
            low = np.asarray(self.floor.advance(rpm))
        for ceiling in self.ceilings:
            high = np.minimum(high, ceiling.advance(rpm))
        return low, high

    def breakpoints(self) -> list[tuple[float, ...]]:
        """The speeds of the nodes of every curve that bounds. [rpm]"""
        curves = self.ceilings if self.floor is None else (self.floor, *self.ceilings)
        return [curve.rpm for curve in curves]


def _fitted(
    target: AdvanceCurve,
    raster: FloatArray,
    count: int,
    steps: DegreeSteps,
    never_above: bool,
    within: Band | None,
) -> GridFit:
    if not isinstance(target, AdvanceCurve):
        raise CurveError("the target must be an AdvanceCurve")
    ceilings = (target,) if never_above else ()
    rule = "at or below the target"
    floor = None
    if within is not None:
        floor, upper = within
        _refuse_if_upside_down(floor, upper)
        rule = f"inside the band and {rule}" if never_above else "inside the band"
        ceilings = (upper, *ceilings)
    nodes = best_nodes(target, raster, count, steps, _Bounds(rule, floor, ceilings))
    return judged(AdvanceCurve(*nodes), target)


def _refuse_if_upside_down(lower: AdvanceCurve, upper: AdvanceCurve) -> None:
    room = upper.difference(lower)
    for rpm, degrees in zip(room.rpm, room.degrees, strict=True):
        if degrees < 0:
            raise CurveError(
                f"the band is upside down at {rpm:g} rpm, from {lower.advance(rpm):g} "
                f"up to {upper.advance(rpm):g} degrees"
            )
