"""What the plan knows of jobs: which are in the workshop or coming, and how long each still takes."""

from collections.abc import Iterable
from decimal import Decimal

from django.db.models import Q, QuerySet, Sum

from garage.people.models import Staff
from garage.people.queries import mechanics
from jobs.costs.models import CostKind, CostLine
from jobs.costs.queries import usual_hours
from jobs.job.models import STAGES, Job, Stage
from jobs.week.models import CalendarFeed

BEFORE_AFTER_CARE = [stage for stage in STAGES if stage != Stage.AFTER_CARE]


def jobs_to_do() -> QuerySet[Job]:
    """Every job that is open and not handed over yet."""
    return Job.objects.open().filter(stage__in=BEFORE_AFTER_CARE)


def hours_left(jobs: Iterable[Job]) -> dict[int, Decimal]:
    """How long each of `jobs` still takes: the usual hours of its kind, less those that are entered. [hours]"""
    jobs, usual = list(jobs), usual_hours()
    lines = CostLine.objects.filter(job__in=jobs, kind=CostKind.HOURS, successors=None, withdrawn=False)
    entered = dict(lines.order_by().values("job").annotate(worked=Sum("quantity")).values_list("job", "worked"))
    return {job.pk: max(usual[job.kind] - entered.get(job.pk, Decimal(0)), Decimal(0)) for job in jobs}


def people_of(jobs: Iterable[Job]) -> list[Staff]:
    """The mechanics of the workshop, and whoever else a car of `jobs` is with."""
    found = {person.pk: person for person in mechanics()}
    found |= {job.mechanic.pk: job.mechanic for job in jobs if job.mechanic}
    return sorted(found.values(), key=lambda person: person.name)


def open_feeds() -> QuerySet[CalendarFeed]:
    """The feeds that are read: not withdrawn, of nobody who left, and made by nobody who left, for they know it."""
    standing = CalendarFeed.objects.filter(revoked_at=None, made_by__is_active=True)
    standing = standing.filter(Q(person=None) | Q(person__is_active=True))
    return standing.select_related("person", "made_by")
