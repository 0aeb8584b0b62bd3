"""What a drive speaks for at the points of the map that was driven: less advance, or a step of it given back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from timing.figures import Figures
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray, number, within
from timing.roadlog.grid import Grid
from timing.roadlog.points import MapPoint, Part, Place, points_of, weights_at
from timing.roadlog.retard import kept_to_slope, may_give_back, propose, proposed_retard
from timing.roadlog.settings import USUAL, RoadLogError, RoadLogSettings
from timing.vacuum import VacuumTable


@dataclass(frozen=True, slots=True)
class Pinking:
    """Pinking that a person noted, or that a log shows.

    Attributes
    ----------
    place : Place
        Where it was.
    severity : float
        1 trace, 2 clear, 3 heavy.
    confidence : float
        How sure it is that it was pinking, 0 to 1; a person who heard it is sure.
    seconds : float
        How long it lasted; 0 where nobody measured. Shown, and not reckoned with. [s]
    """

    place: Place
    severity: float
    confidence: float = 1.0
    seconds: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "severity", number(self.severity, "the severity", above=0.0, high=3.0))
        object.__setattr__(self, "confidence", number(self.confidence, "the confidence", low=0.0, high=1.0))
        object.__setattr__(self, "seconds", number(self.seconds, "how long it lasted", low=0.0, unit="s"))


@dataclass(frozen=True, slots=True)
class Driven:
    """Time that a log shows at a place. [s]"""

    place: Place
    seconds: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "seconds", number(self.seconds, "the time driven", low=0.0, unit="s"))


@dataclass(frozen=True, slots=True, eq=False)
class Correction(Figures):
    """Less advance, point by point, in the order of `points_of`.

    Attributes
    ----------
    points : tuple of k MapPoint
        The points of the map that was driven.
    weights : array, shape (events, k)
        How much each pinking has to do with each point.
    scores : array, shape (k,)
        What they add up to.
    retard_deg : array, shape (k,)
        How much less, zero or more. [degrees of crank]
    noted_deg : array, shape (k,)
        How much less the notes alone speak for, without limits and neighbours. [degrees of crank]
    at_limit : array of bool, shape (k,)
        Where a limit keeps it from being as much as that.
    """

    points: tuple[MapPoint, ...]
    weights: FloatArray
    scores: FloatArray
    retard_deg: FloatArray
    noted_deg: FloatArray
    at_limit: NDArray[np.bool_]


def correct(
    ignition_map: IgnitionMap,
    pinking: Sequence[Pinking],
    *,
    least_total_deg: float,
    settings: RoadLogSettings = USUAL,
) -> Correction:
    """How much less advance the pinking of a drive speaks for, at the points of the map that was driven.

    The score of a point is the sum of severity, confidence and weight multiplied, and its retard follows from the
    score (`proposed_retard`). Then no step of the vacuum table may grow beyond the limit (`propose`), and no stretch
    of the speed curve may get steeper than its own (`kept_to_slope`). The speed curve at full load stays at
    `least_total_deg` or above, and the vacuum part never takes away. All of it is common practice without a source.

    Parameters
    ----------
    ignition_map : IgnitionMap
        The map that was driven, as it was set.
    pinking : sequence of Pinking
        What was noted with this map.
    least_total_deg : float
        Total advance at full load below which nothing is taken. [degrees of crank before top dead centre]
    settings : RoadLogSettings
        All other limits.

    Returns
    -------
    Correction
        Zero everywhere where nothing was noted.
    """
    least = number(least_total_deg, "the least total advance", unit="degrees")
    points = points_of(ignition_map)
    weights = np.array([weights_at(ignition_map, event.place, settings=settings) for event in pinking])
    weights = weights.reshape(len(pinking), len(points))
    amounts = np.array([event.severity * event.confidence for event in pinking])
    scores = amounts @ weights
    noted = np.asarray(proposed_retard(scores, settings=settings))
    wanted, curve = noted.copy(), ignition_map.curve
    on_curve = slice(0, len(curve.rpm))
    wanted[on_curve] = kept_to_slope(curve.rpm, curve.degrees, noted[on_curve], slope_deg=settings.curve_slope_deg)
    if isinstance(ignition_map.vacuum, VacuumTable):
        table = _Table.of(ignition_map, ignition_map.vacuum)
        nothing = np.zeros(table.grid.shape)
        kept = propose(table.grid, table.laid(scores), nothing, table.advance, settings=settings)
        wanted[table.at] = kept.retard_deg.ravel()
    room = np.maximum(_room(ignition_map, points, least), 0.0)
    retard = np.minimum(wanted, room)
    return Correction(points, weights, scores, retard, noted, wanted > retard)


def given_back(
    ignition_map: IgnitionMap, taken: ArrayLike, clean: ArrayLike, *, settings: RoadLogSettings = USUAL
) -> FloatArray:
    """How much of the retard taken earlier may be given back at each point, where it was driven clean.

    Parameters
    ----------
    ignition_map : IgnitionMap
        The map that was driven, as it was set.
    taken : array, shape (k,)
        Retard taken out at each point so far, zero or more. [degrees of crank]
    clean : array of bool, shape (k,)
        Points that were driven without pinking, as often as the workshop asks for.
    settings : RoadLogSettings
        Most given back at once, and the limit between neighbours.

    Returns
    -------
    array, shape (k,)
        At most `give_back_deg`, and at most what was taken. [degrees of crank]

    Raises
    ------
    RoadLogError
        If there is not one figure for each point.
    """
    retard, is_clean = within(taken, "the retard taken out", low=0.0, unit="degrees"), np.asarray(clean, dtype=np.bool_)
    points = points_of(ignition_map)
    if not retard.shape == is_clean.shape == (len(points),):
        raise RoadLogError(f"the map has {len(points)} points, not {retard.size}")
    back, curve = np.where(is_clean, np.minimum(retard, settings.give_back_deg), 0.0), ignition_map.curve
    on_curve = slice(0, len(curve.rpm))
    # What is given back is a retard below nought. Adding nought turns minus zero into zero.
    slope_deg = settings.curve_slope_deg
    back[on_curve] = 0.0 - kept_to_slope(curve.rpm, curve.degrees, -back[on_curve], slope_deg=slope_deg) + 0.0
    if isinstance(ignition_map.vacuum, VacuumTable):
        table = _Table.of(ignition_map, ignition_map.vacuum)
        seconds = np.where(is_clean, settings.quiet_s, 0.0)
        nothing = np.zeros(table.grid.shape)
        back[table.at] = may_give_back(
            table.grid, table.laid(retard), nothing, table.laid(seconds), table.advance, settings=settings
        ).ravel()
    return back


def driven_clean(
    ignition_map: IgnitionMap,
    *,
    pinking: Sequence[Pinking],
    fine: Sequence[Place],
    driven: Sequence[Driven],
    settings: RoadLogSettings = USUAL,
) -> NDArray[np.bool_]:
    """Points at which one drive was clean: somebody noted that it was fine near them, or the log was long enough there.

    A point with any pinking near it is not clean, and one that was not driven is not either.

    Parameters
    ----------
    ignition_map : IgnitionMap
        The map that was driven.
    pinking : sequence of Pinking
        What was noted against it.
    fine : sequence of Place
        Where it was noted to be fine; counts from a weight of `least_score` on.
    driven : sequence of Driven
        Time in a log; counts from `quiet_s` on, weighted.
    settings : RoadLogSettings
        The two limits.

    Returns
    -------
    array of bool, shape (k,)
        In the order of `points_of`.
    """

    def summed(places: Sequence[Place], amounts: Sequence[float]) -> FloatArray:
        total = np.zeros(len(points_of(ignition_map)))
        for place, amount in zip(places, amounts, strict=True):
            total += amount * weights_at(ignition_map, place, settings=settings)
        return total

    noted = summed([event.place for event in pinking], [event.severity for event in pinking])
    heard_fine = summed(fine, [1.0] * len(fine))
    seconds = summed([visit.place for visit in driven], [visit.seconds for visit in driven])
    there = (heard_fine >= settings.least_score) | (seconds >= settings.quiet_s)
    return np.asarray(there & (noted == 0.0))


class _Table(NamedTuple):
    """The points of a vacuum table: where they stand among all, their grid, and the total advance there."""

    at: slice
    grid: Grid
    advance: FloatArray

    @classmethod
    def of(cls, ignition_map: IgnitionMap, part: VacuumTable) -> _Table:
        curve = ignition_map.curve
        total = np.array(part.degrees) + np.asarray(curve.advance(part.rpm))
        return cls(slice(len(curve.rpm), None), Grid(rpm=part.rpm, vacuum=part.vacuum), total)

    def laid(self, values: FloatArray) -> FloatArray:
        """`values`, of all points, as a table."""
        return np.asarray(values[self.at].reshape(self.grid.shape))


def _room(ignition_map: IgnitionMap, points: Sequence[MapPoint], least_total_deg: float) -> FloatArray:
    """How much may be taken at each point before a limit is met. [degrees of crank]"""
    lowest = least_total_deg - ignition_map.base_deg
    return np.array([point.degrees - (lowest if point.part is Part.REVS else 0.0) for point in points])
