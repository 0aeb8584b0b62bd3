"""What the board shows of every job."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F, Q, QuerySet, TextChoices, Value
from django.db.models.functions import Coalesce

from garage.lists.pages import KeyedPage, page_by_key
from garage.people.models import Staff
from garage.people.queries import workshop_cached
from jobs.board.late import late_jobs, late_since
from jobs.documents.coming_back import waiting_in_after_care
from jobs.job import stages
from jobs.job.models import Job, JobState, Stage
from jobs.job.pages import next_action, scale_stages

# A list of the board shows its first jobs; the rest is on the list's own page.
AT_FIRST, A_PAGE = 40, 40
NO_DAY = date.max  # who has no day stands after all that have one, on every database
DAY = Coalesce(F("booked_for"), Value(NO_DAY))
IN_ORDER = ("day", "code")


class Place(TextChoices):
    """Where one looks for a job, in the order in which one looks."""

    LATE = "late", "Late"
    IN_HAND = "in-hand", "In the workshop"
    ARRIVING = "arriving", "Arriving"
    BOOKED = "booked", "Booked"
    ON_HOLD = "on-hold", "On hold"
    AFTER_CARE = "after-care", "Due back"


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One job on the board, with its next action in words, where it is done, and where the car stands."""

    job: Job
    stages: list[dict[str, Any]]
    words: str
    url: str
    stage_url: str
    late: str = ""  # in words, since when; nothing where it is not


@dataclass(frozen=True, slots=True)
class BoardList:
    """The first jobs of one place, and whether there are more."""

    place: Place
    rows: list[BoardRow]
    goes_on: bool


@dataclass(frozen=True, slots=True)
class Board:
    """What has to happen today, in the order in which one looks; a late car stands in `late` and in its own place."""

    late: list[Job]
    more_are_late: bool
    lists: list[BoardList]

    def at(self, place: Place) -> list[BoardRow]:
        return next(one.rows for one in self.lists if one.place == place)

    @property
    def is_empty(self) -> bool:
        return not any(one.rows for one in self.lists)


def board(today: date, *, person: Staff | None = None, kind: str = "") -> Board:
    """The board of `today`; of one person's cars, or of one kind of job, where that is asked."""
    with workshop_cached():
        found = {place: _first_of(_asked_for(jobs_at(place, today), person, kind), AT_FIRST + 1) for place in Place}
        late = found.pop(Place.LATE)
        shown = {place: jobs[:AT_FIRST] for place, jobs in found.items()}
        stages.prefetch_progress([job for jobs in shown.values() for job in jobs])
        return Board(
            late=late[:AT_FIRST],
            more_are_late=len(late) > AT_FIRST,
            lists=[
                BoardList(at, [_row(job, today) for job in jobs], len(found[at]) > AT_FIRST)
                for at, jobs in shown.items()
            ],
        )


def _asked_for(jobs: QuerySet[Job], person: Staff | None, kind: str) -> QuerySet[Job]:
    if person is not None:
        jobs = jobs.filter(mechanic=person)
    return jobs.filter(kind=kind) if kind else jobs


def page_of(place: Place, today: date, asked: Mapping[str, str]) -> tuple[KeyedPage[Job], list[BoardRow]]:
    """A page of one list of the board, with its rows as the board shows them."""
    with workshop_cached():
        page = page_by_key(jobs_at(place, today), asked, order=IN_ORDER, length=A_PAGE)
        with_cars = _with_car().in_bulk([job.pk for job in page])
        jobs = [with_cars[job.pk] for job in page]
        stages.prefetch_progress(jobs)
        return page, [_row(job, today) for job in jobs]


def _with_car() -> QuerySet[Job]:
    return Job.objects.with_car().select_related("mechanic", "bay")


def _first_of(jobs: QuerySet[Job], most: int) -> list[Job]:
    """The first of `jobs` with their cars: put in order before the cars are asked for."""
    first = list(jobs.order_by(*IN_ORDER).values_list("pk", flat=True)[:most])
    with_cars = _with_car().in_bulk(first)
    return [with_cars[key] for key in first]


def jobs_at(place: Place, today: date) -> QuerySet[Job]:
    """The jobs of one place, each with the `day` by which they are put in order."""
    if place == Place.LATE:
        return late_jobs(today)
    return _standing_at(place, today).annotate(day=DAY)


def _standing_at(place: Place, today: date) -> QuerySet[Job]:
    jobs = Job.objects.all()
    if place == Place.ON_HOLD:
        return jobs.filter(state=JobState.ON_HOLD)
    jobs = jobs.open()
    if place == Place.AFTER_CARE:
        return waiting_in_after_care(jobs, today)
    if place == Place.IN_HAND:
        # Named one by one, so that an index finds them among all that were ever handed over.
        return jobs.filter(stage__in=[stage for stage in Stage if stage not in (Stage.BOOKED, Stage.AFTER_CARE)])
    here = Q(booked_for__lte=today)
    jobs = jobs.filter(stage=Stage.BOOKED)
    return jobs.filter(here) if place == Place.ARRIVING else jobs.filter(~here | Q(booked_for=None))


def _row(job: Job, today: date) -> BoardRow:
    progress = stages.progress_of(job, Stage(job.stage))
    action = next_action(job, progress)
    if job.state == JobState.ON_HOLD:
        words = f"on hold: {job.state_reason}"
    elif action:
        words = action["label"]
    else:
        words = progress.missing[0] if progress.missing else "nothing to do"
    # A board only shows; what would change the record is done on the job's own page.
    stage_url = stages.stage_url(job, Stage(job.stage))
    url = action["url"] if action and action.get("method") != "post" else stage_url
    return BoardRow(
        job=job,
        stages=scale_stages(job, progress),
        words=words,
        url=url,
        stage_url=stage_url,
        late=late_since(job, today),
    )
