"""The one way to write a job's journal."""

from typing import Any

from garage.people.signature import Signature
from jobs.card.models import Job, JournalLine


def write(job: Job, kind: str, sentence: str, *, signed: Signature, **figures: Any) -> JournalLine:
    """Append a line: `kind` is a slug that stays the same for one deed, `sentence` is what a person reads in a year.

    `figures` are plain JSON values: the old and the new value where something changed.
    """
    return JournalLine.objects.create(
        job=job,
        at=signed.at,
        by=signed.by,
        device=signed.device,
        stage=job.stage,
        kind=kind,
        sentence=sentence,
        figures=figures,
    )
