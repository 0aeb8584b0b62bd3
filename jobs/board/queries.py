"""What the board shows of every job."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from garage.people.models import Staff
from garage.people.queries import workshop_cached
from jobs.board.late import late_since
from jobs.documents.coming_back import waiting_in_after_care
from jobs.job import stages
from jobs.job.models import Job, JobState, Stage
from jobs.job.pages import next_action, scale_stages


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
class Board:
    """What has to happen today, in the order in which one looks."""

    in_hand: list[BoardRow]
    arriving: list[BoardRow]
    booked: list[BoardRow]
    on_hold: list[BoardRow]
    after_care: list[BoardRow]

    @property
    def late(self) -> list[BoardRow]:
        """What is late, wherever it stands, and whatever is not on hold."""
        return [row for row in (*self.in_hand, *self.arriving) if row.late]

    @property
    def is_empty(self) -> bool:
        return not (self.in_hand or self.arriving or self.booked or self.on_hold or self.after_care)


def board(today: date, *, person: Staff | None = None, kind: str = "") -> Board:
    """The board of `today`; of one person's cars, or of one kind of job, where that is asked."""
    rows = {"in_hand": [], "arriving": [], "booked": [], "on_hold": [], "after_care": []}  # type: dict[str, list[BoardRow]]
    with workshop_cached():
        found = _jobs_on_board(today, person, kind)
        stages.prefetch_progress(found)
        for job in found:
            rows[_place_of(job, today)].append(_row(job, today))
    return Board(**rows)


def _jobs_on_board(today: date, person: Staff | None, kind: str) -> list[Job]:
    jobs = Job.objects.exclude(state=JobState.ABANDONED)
    if person is not None:
        jobs = jobs.filter(mechanic=person)
    if kind:
        jobs = jobs.filter(kind=kind)
    here = jobs.exclude(stage=Stage.AFTER_CARE, state=JobState.OPEN)
    away = waiting_in_after_care(jobs.open(), today)
    shown = Job.objects.filter(Q(pk__in=here.values("pk")) | Q(pk__in=away.values("pk")))
    return list(shown.with_car().select_related("mechanic", "bay").order_by("booked_for", "code"))


def _place_of(job: Job, today: date) -> str:
    if job.state == JobState.ON_HOLD:
        return "on_hold"
    if job.stage == Stage.AFTER_CARE:
        return "after_care"
    if job.stage == Stage.BOOKED:
        return "arriving" if job.booked_for and job.booked_for <= today else "booked"
    return "in_hand"


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
