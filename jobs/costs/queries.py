"""What a job has cost so far."""

from dataclasses import dataclass
from decimal import Decimal

from jobs.costs.models import CostKind, CostLine
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
    return Costs(list(standing.order_by("made_at")))
