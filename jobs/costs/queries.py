"""What a job has cost so far."""

from dataclasses import dataclass
from decimal import Decimal

from garage.record.events import Event
from garage.record.models import TrailEntry
from jobs.costs.models import HOURS_AT_FIRST, CostKind, CostLine, UsualHours, WorkTimer
from jobs.job.models import Job


@dataclass(frozen=True, slots=True)
class Costs:
    """The lines that stand, and their sums."""

    lines: list[CostLine]

    def sum_of(self, kind: CostKind) -> Decimal:
        return sum((line.amount for line in self.lines if line.kind == kind), Decimal("0.00"))

    @property
    def hours(self) -> Decimal:
        return self.sum_of(CostKind.HOURS)

    @property
    def worked(self) -> list[CostLine]:
        return [line for line in self.lines if line.kind == CostKind.HOURS]

    @property
    def hours_worked(self) -> Decimal:
        """How long was worked on the car. [hours]"""
        return sum((line.quantity for line in self.worked), Decimal(0))

    @property
    def parts(self) -> Decimal:
        return self.sum_of(CostKind.PART)

    @property
    def total(self) -> Decimal:
        return self.hours + self.parts


def costs(job: Job) -> Costs:
    standing = job.cost_lines.filter(successors=None, withdrawn=False).select_related("by")
    # By the key too: a bill set from these lines is compared under the lock, where two of one moment may not swap.
    return Costs(list(standing.order_by("made_at", "pk")))


def usual_hours() -> dict[str, Decimal]:
    """How long a job of each kind usually takes. [hours]"""
    kept = dict(UsualHours.objects.values_list("kind", "hours"))
    return {str(kind): kept.get(kind, at_first) for kind, at_first in HOURS_AT_FIRST.items()}


def is_current(line: CostLine) -> bool:
    """Whether a line stands: neither undone nor corrected."""
    return not line.withdrawn and not CostLine.objects.filter(supersedes=line).exists()


def stage_of_hours(line: CostLine) -> str:
    """The stage to which hours were written down, as the journal has it."""
    found = TrailEntry.objects.filter(job_id=line.job_id, event=Event.COST_ENTERED, figures__line=str(line.pk))
    return found.values_list("stage", flat=True).first() or line.job.stage


def running_on(job: Job) -> list[WorkTimer]:
    """The timers that run on `job`, of whomever."""
    return list(job.timers.filter(stopped_at=None).select_related("person"))
