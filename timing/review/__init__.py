"""A map held against the engine, the unit and the coil: what is unsafe, what is odd, what is worth knowing."""

from timing.review.case import advance_range
from timing.review.facts import CoilFacts, EngineFacts, PinkingNote, RotorFacts, Tachometer, VacuumPort
from timing.review.finding import COMMON_PRACTICE, Finding, Kind, ReviewError
from timing.review.limits import ReviewLimits
from timing.review.whole import review

__all__ = [
    "COMMON_PRACTICE",
    "CoilFacts",
    "EngineFacts",
    "Finding",
    "Kind",
    "PinkingNote",
    "ReviewError",
    "ReviewLimits",
    "RotorFacts",
    "Tachometer",
    "VacuumPort",
    "advance_range",
    "review",
]
