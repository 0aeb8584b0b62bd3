"""The week as it is planned: a row for each person, a column for each day, a card where a car comes or is promised."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from garage.people.models import Staff
from garage.rota.queries import Rota, rota
from jobs.job.models import Job, Stage
from jobs.week import queries
from jobs.week.load import Load, load

DAYS_SHOWN = 7
A_MONTH = timedelta(days=31)


@dataclass(frozen=True, slots=True)
class Card:
    """A car on the day it comes (`booked_for`) or is promised (`promised_for`)."""

    job: Job
    column: str
    is_late: bool

    @property
    def label(self) -> str:
        return "Arrives" if self.column == "booked_for" else "Promised"


@dataclass(frozen=True, slots=True)
class Sum:
    """The hours of work on a day against the hours of who is there."""

    needed: Decimal
    there: Decimal

    @property
    def is_too_much(self) -> bool:
        return self.needed > self.there

    @property
    def words(self) -> str:
        """'12 of 16 h'; nothing where there is neither work nor anybody to do it."""
        if not (self.needed or self.there):
            return ""
        return f"{_hours(self.needed)} of {_hours(self.there)} h"


@dataclass(frozen=True, slots=True)
class Cell:
    """A person's day."""

    day: date
    cards: list[Card]
    sum: Sum
    is_away: bool


@dataclass(frozen=True, slots=True)
class Row:
    """A person's week; the row of nobody holds the cars that no mechanic has yet."""

    person: Staff | None
    cells: list[Cell]


@dataclass(frozen=True, slots=True)
class DayHead:
    """A column's day, with what lies on it."""

    day: date
    is_today: bool
    is_past: bool
    sum: Sum


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days from a Monday, the cars that are late, and those that have no day yet."""

    first: date
    days: list[DayHead]
    rows: list[Row]
    late: list[Card]
    without_day: list[Job]

    @property
    def before(self) -> date:
        return self.first - timedelta(days=DAYS_SHOWN)

    @property
    def after(self) -> date:
        return self.first + timedelta(days=DAYS_SHOWN)

    @property
    def too_much(self) -> list[DayHead]:
        return [head for head in self.days if head.sum.is_too_much and not head.is_past]


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def week(first: date, today: date, *, person: Staff | None = None, kind: str = "") -> Week:
    """The week from the Monday `first`. `person` and `kind` choose what is shown; every sum counts all the work."""
    days = [first + timedelta(days=number) for number in range(DAYS_SHOWN)]
    jobs = list(queries.jobs_to_do().select_related("vehicle__customer", "mechanic", "bay").order_by("code"))
    people = queries.people_of(jobs)
    known = rota(people, min(first, today), max(days[-1], _last_day(jobs, today)))
    work = load(jobs, queries.hours_left(jobs), known, today)
    shown = [
        job
        for job in jobs
        if (person is None or job.mechanic_id == person.pk) and (not kind or job.kind == kind)
    ]  # fmt: skip
    cards = [card for job in shown for card in cards_of(job, today)]
    planned = [card for card in cards if not card.is_late]  # those that are late stand above the week
    rows = [
        Row(one, [_cell(one, day, planned, work, known) for day in days])
        for one in ([person] if person else [*people, None])
    ]
    heads = [
        DayHead(day, day == today, day < today, Sum(work.of_all[day], known.hours_of_all(day))) for day in days
    ]  # fmt: skip
    late = [card for card in cards if card.is_late]
    return Week(first, heads, rows, late, [job for job in shown if not (job.booked_for or job.promised_for)])


def _cell(person: Staff | None, day: date, planned: list[Card], work: Load, known: Rota) -> Cell:
    key = person.pk if person else None
    cards = [card for card in planned if _day_of(card) == day and card.job.mechanic_id == key]
    there = known.hours(person.pk, day) if person else Decimal(0)
    is_away = person is not None and known.is_away(person.pk, day)
    return Cell(day, cards, Sum(work.of_person[key][day], there), is_away)


def day_sum(day: date, today: date) -> Sum:
    """What lies on `day`, of everybody."""
    head = next(head for head in week(monday_of(day), today).days if head.day == day)
    return head.sum


def cards_of(job: Job, today: date) -> list[Card]:
    """The cards of a job: its coming, until it is here, and its promised day."""
    cards = []
    if job.stage == Stage.BOOKED and job.booked_for:
        cards.append(Card(job, "booked_for", job.booked_for < today))
    if job.promised_for:
        cards.append(Card(job, "promised_for", job.promised_for < today))
    return cards


def _day_of(card: Card) -> date:
    day: date = getattr(card.job, card.column)
    return day


def _last_day(jobs: list[Job], today: date) -> date:
    """Up to which day the rota is asked: the last that any of `jobs` speaks of, and the month after today."""
    named = [day for job in jobs for day in (job.booked_for, job.promised_for) if day]
    return min(max([*named, today]), date.max - A_MONTH) + A_MONTH


def _hours(hours: Decimal) -> str:
    return f"{hours.quantize(Decimal('0.1')).normalize():f}"
