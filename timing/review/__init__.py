"""A map held against the engine, the unit and the coil: what is unsafe, what is odd, what is worth knowing."""

from timing.review.case import advance_range
from timing.review.facts import CoilFacts, EngineFacts, RotorFacts, Tachometer
from timing.review.finding import COMMON_PRACTICE, Finding, Kind, ReviewError
from timing.review.limits import ReviewLimits
from timing.review.whole import review

__all__ = [
    "COMMON_PRACTICE",
    "CoilFacts",
    "EngineFacts",
    "Finding",
    "Kind",
    "ReviewError",
    "ReviewLimits",
    "RotorFacts",
    "Tachometer",
    "advance_range",
    "review",
]
