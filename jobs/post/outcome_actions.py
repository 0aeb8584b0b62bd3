"""What a worker writes down about a mail: that a try begins, and what came of it.

A try is written down before the server is asked. A worker that ends in between leaves a try without an outcome: the
next one says so, and sends the mail once more under the same Message-ID. After a second such end nothing is sent: no
customer gets the same mail over and over because a machine dies of it.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction

from garage.mail.troubles import MailNotTakenError
from garage.record.actor import Actor
from garage.record.events import Event
from jobs.post.models import Mail, MailStep, StepKind
from jobs.post.queries import standing_of
from jobs.post.step_actions import write_step

# After each try that came to nothing; then the last of them again, until a day is over.
PAUSES = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 20, 60, 180, 360, 720))
GIVEN_UP_AFTER = timedelta(days=1)
MAY_HAVE_ARRIVED = "Cut off in the middle: it may have arrived. Sent again as the same mail."
CUT_OFF_TWICE = "Cut off twice: it may have arrived. Ask the customer first."


@transaction.atomic
def begin_try(*, mail: Mail, actor: Actor) -> int | None:
    """Write down that a try begins; its number, or None where there is nothing to send any longer."""
    mail = Mail.objects.select_for_update(of=("self",)).select_related("job__vehicle__customer").get(pk=mail.pk)
    standing = standing_of(mail)
    if not standing.waits:
        return None
    number = standing.last.number if standing.last else 0
    if mail.job.vehicle.customer.forgotten_at:
        write_step(mail=mail, number=number, kind=StepKind.STOPPED, sentence="The customer was erased.", actor=actor)
        return None
    if standing.last and standing.last.kind == StepKind.BEGUN:
        if any(step.kind == StepKind.CUT_OFF for step in _since_asked(standing.steps)):
            write_step(
                mail=mail, number=number, kind=StepKind.REFUSED, sentence=CUT_OFF_TWICE, actor=actor,
                event=Event.MAIL_FAILED, line=f"Mail failed: {mail}. {CUT_OFF_TWICE}",
            )  # fmt: skip
            return None
        write_step(
            mail=mail, number=number, kind=StepKind.CUT_OFF, sentence=MAY_HAVE_ARRIVED, actor=actor,
            event=Event.MAIL_NOT_TAKEN, line=f"Mail: {mail}. {MAY_HAVE_ARRIVED}",
        )  # fmt: skip
    write_step(mail=mail, number=number + 1, kind=StepKind.BEGUN, actor=actor)
    return number + 1


@transaction.atomic
def keep_sent(*, mail: Mail, number: int, answer: str, actor: Actor) -> None:
    """The server took the mail."""
    write_step(
        mail=mail, number=number, kind=StepKind.SENT, sentence="Sent.", answer=answer, actor=actor,
        event=Event.MAIL_SENT, line=f"Mail sent: {mail}",
    )  # fmt: skip


@transaction.atomic
def keep_not_taken(*, mail: Mail, number: int, trouble: MailNotTakenError, actor: Actor) -> datetime | None:
    """The server did not take the mail. When it is tried again; None where it is not."""
    again_at = None if trouble.for_good else _again_at(mail, actor.at)
    kind = StepKind.PUT_OFF if again_at else StepKind.REFUSED if trouble.for_good else StepKind.GIVEN_UP
    said = str(trouble) if kind != StepKind.GIVEN_UP else f"Given up after a day. {trouble}"
    words = "Mail not sent yet" if again_at else "Mail failed"
    write_step(
        mail=mail, number=number, kind=kind, sentence=said, answer=trouble.answer, again_at=again_at, actor=actor,
        event=Event.MAIL_NOT_TAKEN if again_at else Event.MAIL_FAILED, line=f"{words}: {mail}. {said}",
    )  # fmt: skip
    return again_at


def _again_at(mail: Mail, now: datetime) -> datetime | None:
    """When a mail is tried again after a try that ended `now`; None once a day is over."""
    steps = _since_asked(list(mail.steps.all()))
    began = steps[0].made_at if steps and steps[0].kind == StepKind.ASKED_AGAIN else mail.put_in_at
    tries = sum(step.kind == StepKind.BEGUN for step in steps)
    at = now + PAUSES[min(tries, len(PAUSES)) - 1]
    return at if at <= began + GIVEN_UP_AFTER else None


def _since_asked(steps: Sequence[MailStep]) -> Sequence[MailStep]:
    """The steps since somebody asked for another try; all of them where nobody has."""
    asked = [place for place, step in enumerate(steps) if step.kind == StepKind.ASKED_AGAIN]
    return steps[asked[-1] :] if asked else steps
