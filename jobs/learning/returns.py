"""Which cars came back within a year of their handover, and why."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from jobs.job.models import Job, JobKind, JobState
from jobs.learning.behind import Behind, Car
from jobs.learning.group import Group
from jobs.learning.words import share_said
from jobs.likeness.stayed import HandedOver
from timing.spread import Share, share_of

YEAR = timedelta(days=365)


@dataclass(frozen=True, slots=True)
class Reason:
    """The cars that came back as one kind of job."""

    label: str
    behind: Behind


@dataclass(frozen=True, slots=True)
class Returns:
    """Handovers after which a whole year has passed, and those of them that came back with a fault.

    A car that is out for less than a year has not had its year: it is counted apart, and in no share.
    """

    share: Share | None
    with_fault: Behind
    by_kind: Sequence[Reason]
    planned: Behind
    not_a_year_yet: int
    back_already: Behind

    @property
    def share_said(self) -> str:
        return share_said(self.share)

    def figures(self) -> Iterator[Behind]:
        yield from (self.with_fault, self.planned, self.back_already)
        for reason in self.by_kind:
            yield reason.behind


def returns(group: Group, *, now: datetime) -> Returns:
    """Coming back with a fault is a later job of the car within a year in which a fault was reported.

    What comes back without one, such as a yearly check, was asked to.
    """
    later: dict[int, list[Job]] = defaultdict(list)
    vehicles = {one.vehicle_id for one in group.handovers}
    jobs = Job.objects.filter(vehicle_id__in=vehicles).exclude(state=JobState.ABANDONED)
    for job in jobs.only("code", "vehicle_id", "kind", "complaint", "wanted", "made_at").order_by("made_at", "pk"):
        later[job.vehicle_id].append(job)
    faults: list[Car] = []
    planned: list[Car] = []
    early: list[Car] = []
    kinds: dict[str, list[Car]] = defaultdict(list)
    year_past = 0
    for one in group.handovers:
        has_its_year = now - one.at >= YEAR
        year_past += has_its_year
        back = [job for job in later[one.vehicle_id] if one.at < job.made_at <= one.at + YEAR]
        fault = next((job for job in back if job.complaint), None)
        if fault is not None:
            (faults if has_its_year else early).append(_car(one, fault))
            if has_its_year:
                kinds[fault.kind].append(_car(one, fault))
        elif back:
            planned.append(_car(one, back[0]))
    return Returns(
        share=share_of(len(faults), year_past),
        with_fault=Behind("back-fault", "Back within a year with a fault", tuple(faults)),
        by_kind=[
            Reason(
                JobKind(kind).label,
                Behind(f"back-{kind.replace(' ', '-')}", f"Back within a year: {JobKind(kind).label}", tuple(cars)),
            )
            for kind, cars in sorted(kinds.items(), key=lambda row: -len(row[1]))
        ],
        planned=Behind("back-planned", "Back within a year without a fault", tuple(planned)),
        not_a_year_yet=len(group.handovers) - year_past,
        back_already=Behind("back-early", "Back with a fault, out for less than a year", tuple(early)),
    )


def _car(one: HandedOver, job: Job) -> Car:
    """The job it came back as: that is what somebody wants to read."""
    days = (job.made_at - one.at).days
    return Car(job.code, one.car, f"after {days} days, {job.get_kind_display()}: {job.complaint or job.wanted}")
