"""Writing down what happened to a mail, and saying so where the mail belongs."""

from datetime import datetime
from typing import Any
from uuid import uuid5

from django.apps import apps
from django.db import transaction

from garage.record import trail
from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from garage.record.models import kind_of
from jobs.job import journal
from jobs.post.models import Mail, MailStep, StepKind


@transaction.atomic
def write_step(
    *,
    mail: Mail,
    number: int,
    kind: StepKind,
    actor: Actor,
    sentence: str = "",
    answer: str = "",
    again_at: datetime | None = None,
    event: Event | None = None,
    line: str = "",
) -> None:
    """Append a step under an id that follows from the mail, the try and the kind: written twice, it is one.

    With an `event`, `line` goes into the trail as well.
    """
    list(Mail.objects.select_for_update().filter(pk=mail.pk).values_list("pk"))
    _, is_new = append(
        MailStep,
        id=uuid5(mail.idempotency_key, f"{number} {kind}"),
        actor=actor,
        in_force={"place": mail.steps.count() + 1},
        mail=mail,
        number=number,
        kind=kind,
        sentence=sentence[:300],
        answer=answer[:300],
        again_at=again_at,
    )
    if event and is_new:
        note_mail(mail=mail, event=event, line=line, actor=actor)


def note_mail(*, mail: Mail, event: Event, line: str, actor: Actor) -> None:
    """A line where the mail belongs: the journal of the job, or the trail of the quote or bill."""
    if mail.subject_kind == kind_of(mail.job):
        journal.write(mail.job, event, line, actor=actor)
        return
    subject: Any = apps.get_model("jobs", mail.subject_kind)._base_manager.get(pk=mail.subject_id)
    trail.write(event, subject, line, actor=actor)
