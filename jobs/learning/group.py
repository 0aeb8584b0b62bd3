"""The cars that are looked at together: their handovers, and the version each went home with."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from jobs.likeness.like import Likeness
from jobs.likeness.stayed import HandedOver, Stayed, handed_over, last_of_each_car, proven_versions, stayed_maps


@dataclass(frozen=True)
class Group:
    """Handovers of like cars, the newest first; what is asked of them is fetched when it is asked."""

    like: Likeness
    handovers: Sequence[HandedOver]

    @cached_property
    def by_job(self) -> dict[int, HandedOver]:
        return {one.job_id: one for one in self.handovers}

    @cached_property
    def cars(self) -> list[HandedOver]:
        """The last handover of each car."""
        return last_of_each_car(self.handovers)

    @cached_property
    def proven(self) -> dict[int, int]:
        """Which version each job's car went home with, by their keys."""
        return proven_versions(self.handovers)

    @cached_property
    def stayed(self) -> Stayed:
        return stayed_maps(self.handovers)


def group_of(like: Likeness) -> Group:
    return Group(like, handed_over(like))
