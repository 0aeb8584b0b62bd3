"""What a capsule is judged by."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import StrEnum

from timing.distributor.errors import DistributorError
from timing.inputs import number


class CapsuleKind(StrEnum):
    """What a test of the capsule comes to."""

    HOLDS = "holds"
    LEAKS = "leaks"
    DOES_NOT_MOVE = "does_not_move"
    BEGINS_LATE = "begins_late"
    BEGINS_EARLY = "begins_early"
    SHORT_OF_FULL = "short_of_full"
    TOO_MUCH = "too_much"
    RISES_SLOWLY = "rises_slowly"
    RISES_FAST = "rises_fast"
    STICKS = "sticks"
    FALLS_BACK = "falls_back"
    AS_DATA = "as_data"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class CapsuleLimits:
    """When a capsule is called faulty. Every default is common practice, no source.

    Attributes
    ----------
    applied_kpa, seconds, lost_kpa : float
        The capsule is to hold this vacuum for so long, and lose no more than this. [kPa, s, kPa]
    kpa, deg : float
        How far its begin may be off its data, and its advance. [kPa below atmosphere, degrees of crank]
    scatter_deg, step_deg : float
        Standard deviation of a reading of a steady spark, and the step to which the scale is read. [degrees of crank]

    Raises
    ------
    DistributorError
        If all the vacuum applied may be lost.
    TimingError
        If a limit is not above zero or not finite.
    """

    applied_kpa: float = 50.0
    seconds: float = 30.0
    lost_kpa: float = 5.0
    kpa: float = 4.0
    deg: float = 2.0
    scatter_deg: float = 0.5
    step_deg: float = 1.0

    def __post_init__(self) -> None:
        for limit in fields(self):
            figure = number(getattr(self, limit.name), f"the limit {limit.name}", above=0.0)
            object.__setattr__(self, limit.name, figure)
        if self.lost_kpa >= self.applied_kpa:
            raise DistributorError("a capsule may not lose all the vacuum that was applied")


DEFAULT_CAPSULE_LIMITS = CapsuleLimits()
