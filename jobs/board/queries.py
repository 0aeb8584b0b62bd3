"""What the board shows of every job."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q

from garage.people.queries import workshop_cached
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


@dataclass(frozen=True, slots=True)
class Board:
    """What has to happen today, in the order in which one looks."""

    in_hand: list[BoardRow]
    arriving: list[BoardRow]
    booked: list[BoardRow]
    on_hold: list[BoardRow]
    after_care: list[BoardRow]

    @property
    def is_empty(self) -> bool:
        return not (self.in_hand or self.arriving or self.booked or self.on_hold or self.after_care)


def board(today: date) -> Board:
    rows = {"in_hand": [], "arriving": [], "booked": [], "on_hold": [], "after_care": []}  # type: dict[str, list[BoardRow]]
    with workshop_cached():
        found = _jobs_on_board(today)
        stages.prefetch_progress(found)
        for job in found:
            rows[_place_of(job, today)].append(_row(job))
    return Board(**rows)


def _jobs_on_board(today: date) -> list[Job]:
    jobs = Job.objects.exclude(state=JobState.ABANDONED)
    here = jobs.exclude(stage=Stage.AFTER_CARE, state=JobState.OPEN)
    away = waiting_in_after_care(jobs.open(), today)
    shown = Job.objects.filter(Q(pk__in=here.values("pk")) | Q(pk__in=away.values("pk")))
    return list(shown.with_car().order_by("booked_for", "code"))


def _place_of(job: Job, today: date) -> str:
    if job.state == JobState.ON_HOLD:
        return "on_hold"
    if job.stage == Stage.AFTER_CARE:
        return "after_care"
    if job.stage == Stage.BOOKED:
        return "arriving" if job.booked_for and job.booked_for <= today else "booked"
    return "in_hand"


def _row(job: Job) -> BoardRow:
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
    return BoardRow(job=job, stages=scale_stages(job, progress), words=words, url=url, stage_url=stage_url)
