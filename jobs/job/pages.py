"""What every page of a job shows: the car, the stages, the cautions, and the one next action."""

import re
from typing import Any

from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils import timezone

from garage.people.models import Staff
from jobs.job import stages
from jobs.job.cautions import CAUTIONS_OF, Caution, have_read
from jobs.job.models import GateCrossing, Job, JobState, Stage
from jobs.job.progress import StageProgress

Context = dict[str, Any]

JOB_CODE = re.compile(r"[0-9]{2}-[0-9]{4,}")
BADGES = {JobState.ON_HOLD: "hold", JobState.ABANDONED: "abandoned"}


def job_for(code: str) -> Job:
    """The job with its car, or a 404 that says nothing about which numbers exist."""
    if not JOB_CODE.fullmatch(code):  # not every database takes every character in a question
        raise Http404
    try:
        return Job.objects.with_car().get(code=code)
    except Job.DoesNotExist:
        raise Http404 from None


def job_context(request: HttpRequest, job: Job, stage: Stage | None = None, **more: Any) -> Context:
    """The context of a page of `job`; `stage` is the stage the page is about, None for the card, journal and costs.

    `more` may replace any of it, for example `next_action` by a page that has a form of its own to send.
    """
    current, user = Stage(job.stage), request.user
    progress = stages.progress_of(job, current)
    return {
        "job": job,
        "car": job.vehicle,
        "stage": stage,
        "current_stage": current,
        "scale_stages": scale_stages(job, progress),
        **cautions_context(request, job, CAUTIONS_OF[stage] if stage else []),
        "progress": progress if stage in (None, current) else stages.progress_of(job, stage),
        "next_action": _offered(request, current, next_action(job, progress)),
        "badge_kind": BADGES.get(JobState(job.state), ""),
        "may_pass_gates": user.has_perm("garage.pass_gates"),
        "may_with_password": isinstance(user, Staff) and user.lacks_only_the_password("garage.pass_gates"),
        **more,
    }


def cautions_context(request: HttpRequest, job: Job, cautions: list[Caution]) -> Context:
    """The cautions of a page: whole until the person has read them at this job today, then by their names.

    Nothing can hurt where no work is done: the card, the booking, the journal and the costs have none.
    """
    return {
        "cautions": cautions,
        "cautions_read": have_read(job, request.user.pk, cautions, timezone.localdate()),
        "cautions_url": reverse("board:cautions-read", args=[job.code]),
    }


def scale_stages(job: Job, progress: StageProgress | None = None) -> list[Context]:
    """The stages for the graduated rule; those passed with something missing are told apart for ever."""
    current = Stage(job.stage)
    progress = progress or stages.progress_of(job, current)
    skipped = {crossing.left for crossing in job.crossings.all() if crossing.missing}
    graduations = []
    for stage in job.stages:
        state = "ahead"
        if stage == current:
            state = "current"
        elif stages.is_before(stage, current):
            state = "skipped" if stage in skipped else "done"
        row: Context = {
            "key": stage.value,
            "label": stage.label,
            "state": state,
            "url": stages.stage_url(job, stage),
        }
        if stage == current:
            row |= {"steps_done": progress.done, "steps_total": progress.total}
        graduations.append(row)
    return graduations


def next_action(job: Job, progress: StageProgress) -> Context | None:
    """The one large button: what this car waits for, in words of the trade."""
    if job.state != JobState.OPEN:
        return None
    if progress.next_label:
        return {"label": progress.next_label, "url": progress.next_url}
    following = job.next_stage
    if following is None or progress.missing:
        return None
    return {"label": f"Go to {following.label}", "url": stages.go_on_url(job), "method": "post"}


def _offered(request: HttpRequest, stage: Stage, action: Context | None) -> Context | None:
    """The next action for whoever looks at the page: said to all, a button for those whose work it is.

    None on the very page where it is done: a button that leads to itself only makes people doubt it.
    """
    if action is None or (action["url"] == request.path and action.get("method") != "post"):
        return None
    if not request.user.has_perm(stages.WORK_OF[stage]):
        return {"label": action["label"], "url": ""}
    return action


def crossings_unmet(job: Job) -> list[GateCrossing]:
    """The gates the car was let through although something was missing: shown on the card and in the documents."""
    return [crossing for crossing in job.crossings.all() if crossing.missing]
