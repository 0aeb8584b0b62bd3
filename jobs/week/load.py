"""How much work lies on each day: the hours of the jobs, on the days on which there is somebody to do them."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from garage.rota.queries import Rota
from jobs.job.models import Job, Stage

A_DAY = timedelta(days=1)
# A job without a promised day is laid over at most so many days, however few people there are.
FURTHEST = 28
HUNDREDTH = Decimal("0.01")

Shares = dict[date, Decimal]


@dataclass(frozen=True, slots=True)
class Load:
    """The hours that lie on each day: of everybody, and of each person (None: of nobody yet)."""

    of_all: Shares = field(default_factory=lambda: defaultdict(Decimal))
    of_person: dict[int | None, Shares] = field(default_factory=lambda: defaultdict(lambda: defaultdict(Decimal)))

    def add(self, person_id: int | None, day: date, hours: Decimal) -> None:
        self.of_all[day] += hours
        self.of_person[person_id][day] += hours


def load(jobs: Iterable[Job], hours_left: Mapping[int, Decimal], rota: Rota, today: date) -> Load:
    """What `jobs` put on each day; `hours_left` are the hours that each still needs, by its primary key."""
    found = Load()
    for job in jobs:
        for day, hours in shares(job, hours_left[job.pk], rota, today).items():
            found.add(job.mechanic_id, day, hours)
    return found


def shares(job: Job, hours: Decimal, rota: Rota, today: date) -> Shares:
    """`hours` of work on a job, by day.

    They lie evenly on the days from its coming (today, once it is here) to its promised day on which its mechanic is
    there, or anybody where it has none. Without a promised day, and where it is over, they follow one another as one
    person would work them. What has no such day lies on its last.
    """
    begins = max(job.booked_for, today) if job.stage == Stage.BOOKED and job.booked_for else today
    if hours <= 0 or (job.stage == Stage.BOOKED and job.booked_for is None and job.promised_for is None):
        return {}
    if job.promised_for is None or job.promised_for < begins:
        return _one_after_another(job, hours, rota, begins)
    ends = job.promised_for
    if job.stage == Stage.BOOKED and job.booked_for is None:
        begins = ends  # nobody knows yet when it comes
    span = [begins + A_DAY * number for number in range((ends - begins).days + 1)]
    days = [day for day in span if _hours_for(job, rota, day) > 0] or [ends]
    share = (hours / len(days)).quantize(HUNDREDTH, ROUND_HALF_UP)
    laid = dict.fromkeys(days[:-1], share)
    return laid | {days[-1]: hours - share * (len(days) - 1)}


def _one_after_another(job: Job, hours: Decimal, rota: Rota, begins: date) -> Shares:
    laid: Shares = {}
    for number in range(FURTHEST):
        day = begins + A_DAY * number
        share = min(hours, _hours_for(job, rota, day))
        if share > 0:
            laid[day] = share
            hours -= share
        if hours <= 0:
            return laid
    last = max(laid, default=begins)
    return laid | {last: laid.get(last, Decimal(0)) + hours}


def _hours_for(job: Job, rota: Rota, day: date) -> Decimal:
    """How long the job's mechanic is there on `day`; of a job without one, whoever is there longest."""
    if job.mechanic_id is not None:
        return rota.hours(job.mechanic_id, day)
    return max((rota.hours(person.pk, day) for person in rota.people), default=Decimal(0))
