"""The points of a map that a note is about: those that the look-up reads there, by the weights it reads them with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

import numpy as np

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray, number
from timing.roadlog.grid import Grid
from timing.roadlog.settings import USUAL, RoadLogError, RoadLogSettings
from timing.vacuum import VacuumRamp, VacuumTable


class Part(StrEnum):
    """Which part of a map a point belongs to. The values are kept with the record."""

    REVS = "revs"
    VACUUM = "vacuum"
    FULL_VACUUM = "full vacuum"


class MapPoint(NamedTuple):
    """One figure of a map that can be set by itself.

    Attributes
    ----------
    part : Part
        Speed curve, vacuum table, or the full advance of a vacuum ramp.
    rpm : float or None
        Where it stands; None for a ramp. [rpm at the crank]
    vacuum : float or None
        Where it stands in a vacuum table, else None. [kPa below atmosphere]
    degrees : float
        What is set there; on the speed curve counted from the base. [degrees of crank]
    """

    part: Part
    rpm: float | None
    vacuum: float | None
    degrees: float

    @property
    def key(self) -> tuple[Part, float | None, float | None]:
        """What a point is known by in another version of the map."""
        return self.part, self.rpm, self.vacuum


@dataclass(frozen=True, slots=True)
class Place:
    """A speed and a load on the map.

    Attributes
    ----------
    rpm : float
        [rpm at the crank]
    vacuum : float
        Negative is boost. [kPa below atmosphere]
    full_load : bool
        Whether somebody said so; little vacuum says it too (`RoadLogSettings.full_load_kpa`).
    """

    rpm: float
    vacuum: float
    full_load: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "rpm", number(self.rpm, "engine speed", low=0.0, unit="rpm"))
        object.__setattr__(self, "vacuum", number(self.vacuum, "vacuum"))


def points_of(ignition_map: IgnitionMap) -> tuple[MapPoint, ...]:
    """Every point of the speed curve, then those of the vacuum part, row by row from the lowest vacuum."""
    curve, vacuum = ignition_map.curve, ignition_map.vacuum
    points = [MapPoint(Part.REVS, rpm, None, degrees) for rpm, degrees in zip(curve.rpm, curve.degrees, strict=True)]
    match vacuum:
        case VacuumTable():
            points += [
                MapPoint(Part.VACUUM, rpm, kpa, degrees)
                for kpa, row in zip(vacuum.vacuum, vacuum.degrees, strict=True)
                for rpm, degrees in zip(vacuum.rpm, row, strict=True)
            ]
        case VacuumRamp():
            points.append(MapPoint(Part.FULL_VACUUM, None, None, vacuum.full_deg))
    return tuple(points)


def weights_at(ignition_map: IgnitionMap, place: Place, *, settings: RoadLogSettings = USUAL) -> FloatArray:
    """How much each point has to do with a note at `place`: the weights of the look-up, which sum to 1.

    At part load the vacuum part answers for what it adds there. A point of it that adds nothing, or that stands at
    full load, has nothing to give: its weight goes to the speed curve. At full load, boost included, all of it does.

    Parameters
    ----------
    ignition_map : IgnitionMap
        The map that was driven.
    place : Place
        Where the note belongs.
    settings : RoadLogSettings
        Up to which vacuum the engine is at full load.

    Returns
    -------
    array, shape (k,)
        In the order of `points_of`.
    """
    points = points_of(ignition_map)
    curve, part = ignition_map.curve, ignition_map.vacuum
    weights = np.zeros(len(points))
    if not (place.full_load or place.vacuum <= settings.full_load_kpa):
        match part:
            case VacuumTable():
                grid = Grid(rpm=part.rpm, vacuum=part.vacuum)
                shares = grid.shared(rpm=place.rpm, vacuum=place.vacuum, amount=1.0)
                gives = (np.array(part.degrees) > 0.0) & (np.array(part.vacuum) > settings.full_load_kpa)[:, None]
                weights[len(curve.rpm) :] = np.where(gives, shares, 0.0).ravel()
            case VacuumRamp() if part.full_deg > 0.0 and place.rpm >= part.from_rpm:
                weights[-1] = float(np.interp(place.vacuum, (part.start, part.full), (0.0, 1.0)))
    on_curve = Grid(rpm=curve.rpm, vacuum=[0.0]).shared(rpm=place.rpm, vacuum=0.0, amount=1.0 - weights.sum())
    weights[: len(curve.rpm)] = on_curve.ravel()
    return weights


def with_changes(ignition_map: IgnitionMap, changes: Sequence[float]) -> IgnitionMap:
    """The map with `changes` added to its points; negative retards.

    Parameters
    ----------
    ignition_map : IgnitionMap
        The map to start from.
    changes : sequence of float, length k
        One for each point, in the order of `points_of`. [degrees of crank]

    Returns
    -------
    IgnitionMap
        With everything else as it was.

    Raises
    ------
    RoadLogError
        If there is not one change for each point.
    """
    points = points_of(ignition_map)
    if len(changes) != len(points):
        raise RoadLogError(f"the map has {len(points)} points, not {len(changes)}")
    degrees = [point.degrees + float(change) for point, change in zip(points, changes, strict=True)]
    count, vacuum = len(ignition_map.curve.rpm), ignition_map.vacuum
    match vacuum:
        case VacuumTable():
            table = np.array(degrees[count:]).reshape(len(vacuum.vacuum), len(vacuum.rpm))
            vacuum = VacuumTable(rpm=vacuum.rpm, vacuum=vacuum.vacuum, degrees=table)
        case VacuumRamp():
            vacuum = VacuumRamp(vacuum.start, vacuum.full, degrees[-1], vacuum.from_rpm)
    return IgnitionMap(
        base_deg=ignition_map.base_deg,
        curve=AdvanceCurve(ignition_map.curve.rpm, degrees[:count]),
        vacuum=vacuum,
        boost=ignition_map.boost,
        dwell_ms=ignition_map.dwell_ms,
        rev_limit_rpm=ignition_map.rev_limit_rpm,
        rev_limit_manner=ignition_map.rev_limit_manner,
        repeated_sparks=ignition_map.repeated_sparks,
        trigger=ignition_map.trigger,
    )
