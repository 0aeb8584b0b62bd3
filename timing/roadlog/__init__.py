"""The road log: where the engine was driven, what was noted there, and how much retard that speaks for."""

from timing.roadlog.grid import Grid
from timing.roadlog.notes import PlacedNotes, place_notes, spread_notes
from timing.roadlog.occupancy import Dropped, Occupancy, commanded_advance, occupancy
from timing.roadlog.retard import CellState, Proposal, may_give_back, propose, proposed_retard
from timing.roadlog.settings import RoadLogError, RoadLogSettings

__all__ = [
    "CellState",
    "Dropped",
    "Grid",
    "Occupancy",
    "PlacedNotes",
    "Proposal",
    "RoadLogError",
    "RoadLogSettings",
    "commanded_advance",
    "may_give_back",
    "occupancy",
    "place_notes",
    "propose",
    "proposed_retard",
    "spread_notes",
]
