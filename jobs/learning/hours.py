"""How many hours each stage takes: for whoever keeps the costs."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from garage.quantities.words import plain
from garage.record.events import Event
from garage.record.models import TrailEntry
from jobs.costs.models import CostKind, CostLine
from jobs.job.models import STAGES, Job, JobKind, Stage
from jobs.learning.behind import Behind, car_of
from jobs.learning.group import Group
from timing.spread import Spread, spread_of


@dataclass(frozen=True, slots=True)
class StageHours:
    """The hours of one stage, over the jobs that had any there; `spread` is None below three."""

    label: str
    behind: Behind
    spread: Spread | None


@dataclass(frozen=True, slots=True)
class Hours:
    """Each stage, and the whole job. `jobs` have hours written down at all."""

    jobs: int
    rows: Sequence[StageHours]

    def figures(self) -> Iterator[Behind]:
        for row in self.rows:
            yield row.behind


WHOLE = "whole job"


def hours_by_stage(group: Group) -> Hours:
    """Hours by the stage that the job was at when they were written down, as the journal has it."""
    stage_of_line = {
        figures.get("line"): stage
        for figures, stage in TrailEntry.objects.filter(job_id__in=group.by_job, event=Event.COST_ENTERED).values_list(
            "figures", "stage"
        )
    }
    lines = CostLine.objects.filter(
        job_id__in=group.by_job, kind=CostKind.HOURS, successors=None, withdrawn=False
    ).values_list("pk", "job_id", "quantity")
    worked: dict[str, dict[int, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for pk, job_id, quantity in lines:
        worked[WHOLE][job_id] += quantity
        stage = stage_of_line.get(str(pk), "")
        if stage:
            worked[stage][job_id] += quantity
    places = [(stage.value, stage.label) for stage in STAGES] + [(WHOLE, WHOLE)]
    return Hours(len(worked[WHOLE]), [_row(group, key, label, worked[key]) for key, label in places if worked[key]])


def _row(group: Group, key: str, label: str, hours: dict[int, Decimal]) -> StageHours:
    rows = sorted(hours.items(), key=lambda row: (row[1], group.by_job[row[0]].code))
    cars = tuple(car_of(group.by_job[job_id], f"{plain(float(spent))} h") for job_id, spent in rows)
    name = key if key in Stage.values else "whole"
    return StageHours(
        label, Behind(f"hours-{name}", f"Hours: {label}", cars), spread_of([float(h) for h in hours.values()])
    )


# So many of the newest jobs of a kind tell what the workshop takes now.
NEWEST = 100


def hours_of_kind(kind: JobKind, *, but: Job) -> Spread | None:
    """What the newest jobs of a kind that are handed over took in all, without the job `but`; None below three."""
    done = Job.objects.filter(kind=kind, stage=Stage.AFTER_CARE).exclude(pk=but.pk).order_by("-code")[:NEWEST]
    lines = CostLine.objects.filter(
        job_id__in=list(done.values_list("pk", flat=True)), kind=CostKind.HOURS, successors=None, withdrawn=False
    ).values_list("job_id", "quantity")
    worked: dict[int, Decimal] = defaultdict(Decimal)
    for job_id, quantity in lines:
        worked[job_id] += quantity
    return spread_of([float(hours) for hours in worked.values()])
