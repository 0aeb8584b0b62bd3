"""The road log: where the engine was driven, what was noted there, and how much retard that speaks for."""

from timing.roadlog.clock import ClockCheck, check_clock, spread_ties
from timing.roadlog.correction import Correction, Driven, Pinking, correct, driven_clean, given_back
from timing.roadlog.grid import Grid
from timing.roadlog.notes import PlacedNotes, place_notes, spread_notes
from timing.roadlog.occupancy import Dropped, Occupancy, commanded_advance, occupancy
from timing.roadlog.points import MapPoint, Part, Place, points_of, weights_at, with_changes
from timing.roadlog.pyramid import Level, finest_within, pyramid, reaching_over
from timing.roadlog.retard import CellState, Proposal, may_give_back, propose, proposed_retard
from timing.roadlog.settings import RoadLogError, RoadLogSettings
from timing.roadlog.steady import Steady, steady_stretches

__all__ = [
    "CellState",
    "ClockCheck",
    "Correction",
    "Driven",
    "Dropped",
    "Grid",
    "Level",
    "MapPoint",
    "Occupancy",
    "Part",
    "Pinking",
    "Place",
    "PlacedNotes",
    "Proposal",
    "RoadLogError",
    "RoadLogSettings",
    "Steady",
    "check_clock",
    "commanded_advance",
    "correct",
    "driven_clean",
    "finest_within",
    "given_back",
    "may_give_back",
    "occupancy",
    "place_notes",
    "points_of",
    "propose",
    "proposed_retard",
    "pyramid",
    "reaching_over",
    "spread_notes",
    "spread_ties",
    "steady_stretches",
    "weights_at",
    "with_changes",
]
