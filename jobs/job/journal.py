"""The one way to write a job's journal."""

from typing import Any
from uuid import UUID

from garage.record.actor import Actor
from garage.record.refusals import RuleRefusedError
from jobs.job.models import Job, JobState, JournalLine

# What may still be written on a job that was abandoned: its end, its papers and its bill, but nothing about the car.
AFTER_ABANDONING = frozenset(
    {
        "put-aside",
        "taken-up",
        "noted",
        "cost-entered",
        "cost-withdrawn",
        "document-issued",
        "link-made",
        "links-revoked",
    }
)


class JobAbandonedError(RuleRefusedError):
    """Nothing more is found or set on a job that was abandoned."""

    def __init__(self, job: Job) -> None:
        super().__init__(f"Job {job.code} is abandoned. Resume it first.")


def write(
    job: Job, kind: str, sentence: str, *, actor: Actor, idempotency_key: UUID | None = None, **figures: Any
) -> JournalLine:
    """Append a line: `kind` is a slug that stays the same for one deed, `sentence` is what a person reads in a year.

    `figures` are plain JSON values: the old and the new value where something changed. `once` is the id of the form,
    for a line that is a deed by itself. As every deed on a job comes by here inside its transaction, this is also where
    a deed that an abandoned job does not take is undone.

    Raises
    ------
    JobAbandonedError
        If the job was abandoned and this is no deed of `AFTER_ABANDONING`.
    """
    if kind not in AFTER_ABANDONING and Job.objects.filter(pk=job.pk, state=JobState.ABANDONED).exists():
        raise JobAbandonedError(job)
    return JournalLine.objects.create(
        job=job,
        at=actor.at,
        by=actor.person,
        device=actor.device,
        stage=job.stage,
        kind=kind,
        sentence=sentence,
        figures=figures,
        idempotency_key=idempotency_key,
    )
