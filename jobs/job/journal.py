"""A job's journal: its part of the trail, and what an abandoned job still takes."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.models import TrailEntry
from garage.record.refusals import RuleRefusedError
from jobs.job.models import Job, JobState, Stage

# What may still be written on a job that was abandoned: its end, its papers and its bill, but nothing about the car.
AFTER_ABANDONING = frozenset(
    {
        Event.PUT_ASIDE,
        Event.TAKEN_UP,
        Event.NOTED,
        Event.COST_ENTERED,
        Event.COST_WITHDRAWN,
        Event.TIMER_STOPPED,
        Event.DOCUMENT_ISSUED,
        Event.LINK_MADE,
        Event.LINKS_REVOKED,
        Event.MAIL_PUT_IN,
        Event.MAIL_SENT,
        Event.MAIL_NOT_TAKEN,
        Event.MAIL_FAILED,
        Event.MAIL_TRIED_AGAIN,
        Event.MAIL_BY_HAND,
        Event.MAIL_STOPPED,
    }
)


class JobAbandonedError(RuleRefusedError):
    """Nothing more is found or set on a job that was abandoned."""

    def __init__(self, job: Job) -> None:
        super().__init__(f"Job {job.code} is abandoned. Resume it first.")


def write(
    job: Job,
    event: Event,
    sentence: str,
    *,
    actor: Actor,
    idempotency_key: UUID | None = None,
    state_is_fresh: bool = False,
    stage: str = "",
    **figures: Any,
) -> TrailEntry:
    """Append an entry to the journal of `job`.

    `figures` are plain JSON values: the old and the new value where something changed. `idempotency_key` is the id of
    the form, for an entry that is an action by itself. As every action on a job comes by here inside its transaction,
    this is also where an action that an abandoned job does not take is undone. `state_is_fresh` says that `job` was
    read inside this transaction, so that its state need not be asked again. `stage` is that of the work, where the
    car has gone on since.

    Raises
    ------
    JobAbandonedError
        If the job was abandoned and this is no event of `AFTER_ABANDONING`.
    """
    if event not in AFTER_ABANDONING and _is_abandoned(job, state_is_fresh=state_is_fresh):
        raise JobAbandonedError(job)
    return trail.write(
        event,
        job,
        sentence,
        actor=actor,
        figures=figures,
        job_id=job.pk,
        stage=stage or job.stage,
        idempotency_key=idempotency_key,
    )


def with_stages(entries: Iterable[TrailEntry]) -> list[tuple[TrailEntry, str]]:
    """Each entry with the stage the job was in, in words: the trail keeps its value alone."""
    names = dict(Stage.choices)
    return [(entry, str(names.get(entry.stage, ""))) for entry in entries]


def _is_abandoned(job: Job, *, state_is_fresh: bool) -> bool:
    if state_is_fresh:
        return job.state == JobState.ABANDONED
    return Job.objects.filter(pk=job.pk, state=JobState.ABANDONED).exists()
