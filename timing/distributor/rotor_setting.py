"""What sets the rotor under the cap, and which bolt changes it.

Cam (or trigger wheel) and rotor are one piece on the upper spindle; plate and cap sit on the body. Three figures say
everything: where the trigger's edge comes, where the tip stands at that moment, and the range of the advance.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, TypeAlias

from timing.crank import crank_from_distributor
from timing.inputs import number

_TURN_DEG = 360.0


class TriggerPlace(StrEnum):
    """Where the unit's trigger sits."""

    DISTRIBUTOR = "distributor"  # contacts or a pick-up on the plate, worked by the rotor's own spindle
    CRANK_OR_CAMSHAFT = "crank_or_camshaft"  # the distributor triggers nothing


class Part(StrEnum):
    """What can be moved."""

    PLATE = "plate or pick-up"
    BODY = "body"
    ROTOR = "rotor"
    CAP = "cap"
    WEIGHTS = "weights"


class Effect(NamedTuple):
    """What one distributor degree of a part, with the turn of the rotor, does to the three figures.

    Attributes
    ----------
    edge_deg : float
        To where the edge comes; 0 where the distributor triggers nothing. [degrees of crank]
    tip_at_edge_dist_deg : float
        To where the tip stands at the edge; 0 where the distributor triggers nothing. [degrees of the distributor]
    aligned_at_deg : float
        To the advance at which tip and terminal are in line. [degrees of crank]
    """

    edge_deg: float
    tip_at_edge_dist_deg: float
    aligned_at_deg: float


# For each part moved with the turn: how the edge moves, in crank degrees over crank turns, and how the tip at the
# edge moves. A plate carries the contacts along; a body carries plate and cap; the weights carry cam and rotor.
_EDGE_AND_TIP = {
    Part.PLATE: (-1.0, -1.0),
    Part.BODY: (-1.0, 0.0),
    Part.ROTOR: (0.0, -1.0),
    Part.CAP: (0.0, 1.0),
    Part.WEIGHTS: (1.0, 0.0),
}


@dataclass(frozen=True, slots=True)
class Move:
    """A part and how far it is moved.

    Attributes
    ----------
    part : Part
        What is moved.
    dist_deg : float
        How far, positive with the turn of the rotor. [degrees of the distributor]
    radius_mm : float or None
        Where the move is measured along an arc. [mm]
    """

    part: Part
    dist_deg: float
    radius_mm: float | None = None

    @property
    def amount_dist_deg(self) -> float:
        """How far, whichever way. [degrees of the distributor]"""
        return abs(self.dist_deg)

    @property
    def amount_mm(self) -> float | None:
        """How far along the arc, None where no radius is known. [mm]"""
        return None if self.radius_mm is None else math.radians(self.amount_dist_deg) * self.radius_mm

    @property
    def with_the_turn(self) -> bool:
        """Whether it goes the way the rotor turns."""
        return self.dist_deg >= 0.0

    def is_clockwise(self, rotor_clockwise: bool) -> bool:
        """Whether it goes clockwise, seen as the rotor's own turn is seen."""
        return self.with_the_turn == rotor_clockwise


@dataclass(frozen=True, slots=True)
class DistributorTrigger:
    """A rotor whose own spindle triggers the unit.

    Attributes
    ----------
    edge_deg : float
        Crank angle at which the trigger's edge comes, -360 to 360. [degrees of crank before top dead centre]
    tip_at_edge_dist_deg : float
        From the tip to its own terminal at that moment, positive while the tip is not there yet; -180 to 180.
        [degrees of the distributor]
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.

    Raises
    ------
    TimingError
        If a figure is not finite or out of its range, or `strokes` is neither 2 nor 4.
    """

    edge_deg: float
    tip_at_edge_dist_deg: float
    strokes: int = 4

    def __post_init__(self) -> None:
        edge = number(self.edge_deg, "the trigger's edge", low=-360.0, high=360.0, unit="degrees")
        what = "the rotor tip at the edge"
        tip = number(self.tip_at_edge_dist_deg, what, low=-180.0, high=180.0, unit="distributor degrees")
        object.__setattr__(self, "edge_deg", edge)
        object.__setattr__(self, "tip_at_edge_dist_deg", tip)
        crank_from_distributor(1.0, self.strokes)  # refuses strokes that no engine has

    @property
    def place(self) -> TriggerPlace:
        """In the distributor."""
        return TriggerPlace.DISTRIBUTOR

    @property
    def crank_turns(self) -> float:
        """Crank turns for one turn of the distributor."""
        return float(crank_from_distributor(1.0, self.strokes))

    @property
    def aligned_at_deg(self) -> float:
        """Advance at which tip and terminal are in line. [degrees of crank]"""
        return _in_cycle(self.edge_deg - self.crank_turns * self.tip_at_edge_dist_deg, self.crank_turns)

    def offset_dist_deg(self, spark_deg: float) -> float:
        """From the tip to its terminal at a spark, positive while it is not there yet. [degrees of the distributor]"""
        return self.tip_at_edge_dist_deg + (spark_deg - self.edge_deg) / self.crank_turns

    def edge_before_deg(self, terminals: int) -> float:
        """The edge before this one, of the cylinder that fires before. [degrees of crank before top dead centre]"""
        return self.edge_deg + self.crank_turns * _TURN_DEG / terminals

    def after(self, moves: Iterable[Move]) -> DistributorTrigger:
        """The same distributor after these moves."""
        edge, tip = self.edge_deg, self.tip_at_edge_dist_deg
        for move in moves:
            effect = effect_of(move.part, self.place, self.strokes)
            edge += move.dist_deg * effect.edge_deg
            tip += move.dist_deg * effect.tip_at_edge_dist_deg
        return DistributorTrigger(_in_cycle(edge, self.crank_turns), math.remainder(tip, _TURN_DEG), self.strokes)


@dataclass(frozen=True, slots=True)
class CrankTrigger:
    """A rotor that triggers nothing: the trigger sits on the crank or the camshaft.

    Attributes
    ----------
    aligned_at_deg : float
        Crank angle at which tip and terminal are in line, -360 to 360; found by turning the engine by hand.
        [degrees of crank before top dead centre]
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.

    Raises
    ------
    TimingError
        If the angle is not finite or out of its range, or `strokes` is neither 2 nor 4.
    """

    aligned_at_deg: float
    strokes: int = 4

    def __post_init__(self) -> None:
        what = "the angle at which rotor and terminal are in line"
        aligned = number(self.aligned_at_deg, what, low=-360.0, high=360.0, unit="degrees")
        object.__setattr__(self, "aligned_at_deg", aligned)
        crank_from_distributor(1.0, self.strokes)  # refuses strokes that no engine has

    @property
    def place(self) -> TriggerPlace:
        """On the crank or the camshaft."""
        return TriggerPlace.CRANK_OR_CAMSHAFT

    @property
    def crank_turns(self) -> float:
        """Crank turns for one turn of the distributor."""
        return float(crank_from_distributor(1.0, self.strokes))

    def offset_dist_deg(self, spark_deg: float) -> float:
        """From the tip to its terminal at a spark, positive while it is not there yet. [degrees of the distributor]"""
        return (spark_deg - self.aligned_at_deg) / self.crank_turns

    def after(self, moves: Iterable[Move]) -> CrankTrigger:
        """The same distributor after these moves."""
        aligned = self.aligned_at_deg
        for move in moves:
            aligned += move.dist_deg * effect_of(move.part, self.place, self.strokes).aligned_at_deg
        return CrankTrigger(_in_cycle(aligned, self.crank_turns), self.strokes)


RotorSetting: TypeAlias = DistributorTrigger | CrankTrigger


def effect_of(part: Part, place: TriggerPlace, strokes: int = 4) -> Effect:
    """What moving a part by one distributor degree, with the turn of the rotor, changes.

    Parameters
    ----------
    part : Part
        What is moved. The weights are moved by locking cam and rotor at another angle on the shaft.
    place : TriggerPlace
        Where the unit's trigger sits.
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.

    Returns
    -------
    Effect
        The change of each of the three figures.

    Raises
    ------
    TimingError
        If `strokes` is neither 2 nor 4.

    References
    ----------
    Derived. The edge comes when the cam reaches the contacts, so what turns the contacts onward makes it later. The
    weights turn cam and rotor together, and the body turns plate and cap together: neither moves the tip at the edge.
    """
    turns = float(crank_from_distributor(1.0, strokes))
    edge, tip = _EDGE_AND_TIP[part]
    aligned = turns * (edge - tip)
    if place is TriggerPlace.CRANK_OR_CAMSHAFT:
        return Effect(0.0, 0.0, aligned)
    return Effect(turns * edge, tip, aligned)


def angle_of_arc(arc_mm: float, radius_mm: float) -> float:
    """Angle of an arc measured between two marks, such as those of tip and terminal at the edge. [degrees]

    Parameters
    ----------
    arc_mm : float
        Length along the arc; negative the other way. [mm]
    radius_mm : float
        Radius at which the arc was measured, above zero: the rim's for marks on the rim, the tip's for marks under
        the tip. [mm]

    Returns
    -------
    float
        Distributor degrees where the marks are on the distributor, -360 to 360.

    Raises
    ------
    TimingError
        If the radius is not above zero, a figure is not finite, or the arc is longer than once round.

    References
    ----------
    Derived: angle = arc / radius.
    """
    radius = number(radius_mm, "the radius of the marks", above=0.0, unit="mm")
    once_round = 2.0 * math.pi * radius
    arc = number(arc_mm, "the arc between the marks", low=-once_round, high=once_round, unit="mm")
    return math.degrees(arc / radius)


def _in_cycle(crank_deg: float, crank_turns: float) -> float:
    """The same crank angle of the working cycle, within half a cycle of top dead centre."""
    return math.remainder(crank_deg, _TURN_DEG * crank_turns)
