"""When a car that was handed over is due again: what its papers say, and who is to be thought of today."""

import calendar
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.formats import date_format

from garage.lists.picked import KeyIsAmong
from garage.people.queries import get_workshop
from garage.quantities.words import plain
from jobs.job.models import GateCrossing, Job, Stage
from jobs.strobe import queries as strobe
from jobs.strobe.models import StrobeSession
from timing.units import KM_PER_MILE

# A car that left a while ago and is not due soon waits for nothing; one that never came back is no work of today.
JUST_LEFT = timedelta(days=60)
DUE_SOON = timedelta(days=30)
LONG_OVERDUE = timedelta(days=120)
A_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class ComeBack:
    """When the car is due again; `checked` is when it was last looked at since it was handed over."""

    handed_over: datetime
    first_km: int
    first: str
    by: date
    checked: datetime | None = None

    @property
    def since(self) -> str:
        """From when it is counted, in words: 'handed over 14 May 2026'."""
        return f"handed over {date_format(timezone.localtime(self.handed_over), 'j M Y')}"

    @property
    def is_due(self) -> bool:
        return timezone.localdate() >= self.by


def come_back(job: Job) -> ComeBack | None:
    """When a car that was handed over is due again; None while it is still here."""
    handed_over = [crossing for crossing in job.crossings.all() if crossing.entered == Stage.AFTER_CARE]
    if not handed_over:
        return None
    left = handed_over[-1]
    workshop = get_workshop()
    checked = strobe.last_after_care(job)
    day = timezone.localtime(max(left.at, checked) if checked else left.at).date()
    first = distance(workshop.recheck_km, job.odometer_unit)
    return ComeBack(left.at, workshop.recheck_km, first, months_later(day, workshop.recheck_months), checked)


def distance(km: int, odometer_unit: str) -> str:
    """A distance as the driver counts it: '800 km', or '500 miles (800 km)' by an odometer in miles."""
    return f"{plain(round(km / KM_PER_MILE, -1))} miles ({km} km)" if odometer_unit == "miles" else f"{km} km"


def waiting_in_after_care(jobs: QuerySet[Job], today: date) -> QuerySet[Job]:
    """Of `jobs`, those in after-care that somebody has to think of: just handed over, or due about now."""
    last_due = months_later(today, -get_workshop().recheck_months)  # what was seen on this day is due today
    just_left, due = _from(today - JUST_LEFT), (_from(last_due - LONG_OVERDUE), _from(last_due + DUE_SOON + A_DAY))
    left = GateCrossing.objects.filter(entered=Stage.AFTER_CARE)
    checked = StrobeSession.objects.filter(purpose=strobe.AFTER_CARE)
    just_gone = left.filter(at__gte=just_left).order_by().values("job")
    seen_then = (
        left.filter(at__gte=due[0], at__lt=due[1]).order_by().values("job"),
        checked.filter(begun_at__gte=due[0], begun_at__lt=due[1]).order_by().values("job"),
    )
    seen_later = (
        left.filter(at__gte=due[1]).order_by().values("job"),
        checked.filter(begun_at__gte=due[1]).order_by().values("job"),
    )
    # Picked by the days, which have indexes, and not by looking at each car that ever left.
    here = jobs.filter(KeyIsAmong(just_gone.union(*seen_then)), stage=Stage.AFTER_CARE)
    return here.filter(Q(pk__in=just_gone) | ~Q(pk__in=seen_later[0]) & ~Q(pk__in=seen_later[1]))


def _from(day: date) -> datetime:
    """The moment at which `day` begins in the workshop."""
    return timezone.make_aware(datetime.combine(day, time.min))


def months_later(day: date, months: int) -> date:
    """The same day of a later month, or its last one."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))
