"""Which cars are due for a check, since when, and why: by the calendar, or by the miles they usually go."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Exists, OuterRef, Q
from django.utils import timezone

from garage.people.queries import get_workshop, workshop_cached
from jobs.documents.coming_back import LONG_OVERDUE, come_back, distance, months_later
from jobs.handover.queries import PREFETCH_AFTER_CARE
from jobs.job.models import GateCrossing, Job, JobState, Stage
from jobs.rechecks.mileage import DAYS_A_YEAR, Mileage, Reading, mileage, reading_of
from jobs.strobe import queries as strobe
from jobs.strobe.models import StrobeSession

# Cars that are due in so many days are shown already. [days]
AHEAD = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Recheck:
    """A car that is due: by the calendar on `by_date`, by miles about `by_miles` where its yearly miles are known."""

    job: Job
    by_date: date
    by_miles: date | None
    first: str  # the distance after which a car is looked at first, as its driver counts it
    mileage: Mileage | None
    checked: bool

    @property
    def due(self) -> date:
        return min(self.by_date, self.by_miles) if self.by_miles else self.by_date

    @property
    def reason(self) -> str:
        """Why it is due then, in words."""
        return self.reason_on(self.due)

    def reason_on(self, day: date) -> str:
        """Why it is due on `day`, which is one of its two."""
        if day == self.by_miles:
            return f"first re-check, {self.first}"
        return "yearly check" if self.checked else "not checked since handover"

    def is_due(self, today: date) -> bool:
        return self.due <= today


def rechecks(today: date) -> list[Recheck]:
    """The cars that are due on `today` or within `AHEAD`, the longest due first.

    A car of which a later job is under way, or was handed over later, is due by that one.
    """
    with workshop_cached() as workshop:
        # nobody is asked back whose car was last seen so long ago that it is long overdue
        since = months_later(today, -workshop.recheck_months) - LONG_OVERDUE
        left = GateCrossing.objects.filter(entered=Stage.AFTER_CARE, at__date__gte=since).values("job")
        seen = StrobeSession.objects.filter(purpose=strobe.AFTER_CARE, begun_at__date__gte=since).values("job")
        later = Job.objects.filter(vehicle=OuterRef("vehicle"), pk__gt=OuterRef("pk")).exclude(state=JobState.ABANDONED)
        away = Job.objects.open().filter(stage=Stage.AFTER_CARE)
        waiting = away.filter(Q(pk__in=left) | Q(pk__in=seen)).exclude(Exists(later))
        jobs = list(waiting.with_car().prefetch_related("crossings", *PREFETCH_AFTER_CARE))
        readings = _readings(jobs)
        found = [_recheck(job, readings[job.vehicle_id]) for job in jobs]
    return sorted(
        (one for one in found if one is not None and one.due <= today + AHEAD), key=lambda one: (one.due, one.job.code)
    )


def _readings(jobs: Iterable[Job]) -> dict[int, list[Reading]]:
    """What the odometers of the cars of `jobs` read whenever they came in."""
    cars = [job.vehicle_id for job in jobs]
    found: dict[int, list[Reading]] = defaultdict(list)
    of_cars = Job.objects.filter(vehicle__in=cars).exclude(odometer=None).prefetch_related("crossings")
    for job in of_cars:
        reading = reading_of(job)
        if reading:
            found[job.vehicle_id].append(reading)
    return found


def _recheck(job: Job, readings: list[Reading]) -> Recheck | None:
    due = come_back(job)
    if due is None:
        return None
    usual = mileage(readings, job.odometer_unit)
    by_miles = None
    if usual and due.checked is None:
        days = due.first_km / usual.km_a_year * DAYS_A_YEAR
        by_miles = timezone.localtime(due.handed_over).date() + timedelta(days=round(days))
    first = distance(get_workshop().recheck_km, job.odometer_unit)
    return Recheck(job, due.by, by_miles, first, usual, due.checked is not None)
