"""Putting mail in for a customer, and what people decide about mail that waits or failed."""

from collections.abc import Sequence
from datetime import timedelta
from uuid import UUID

from django.db import models, transaction

from garage.customers.actions import change_customer
from garage.customers.models import Customer
from garage.mail.server import kept_settings
from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.models import kind_of
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change, said_of
from jobs.job.models import Job
from jobs.post.models import Mail, MailKind, MailText, StepKind
from jobs.post.papers import Paper
from jobs.post.queries import standing_of
from jobs.post.refusals import MailRefusedError
from jobs.post.step_actions import note_mail, write_step
from jobs.post.tasks import put_in_try
from jobs.post.texts import FIRST_TEXTS

# More than all time limits of a try together: after that its worker is no more.
A_TRY_TAKES_AT_MOST = timedelta(minutes=10)


@transaction.atomic
def put_in_mail(
    *,
    job: Job,
    kind: MailKind,
    subject: models.Model,
    what: str,
    address: str,
    subject_line: str,
    text: str,
    papers: Sequence[Paper],
    idempotency_key: UUID,
    actor: Actor,
    keeps_address: bool = False,
    by_hand: bool = False,
) -> Mail:
    """A mail about `subject`, sent by a worker once this is committed; the same `idempotency_key` is one mail.

    `keeps_address` makes the address the customer's own, where the book knew none. One that somebody sent `by_hand`,
    from their own mail program, is recorded and goes nowhere.

    Raises
    ------
    MailRefusedError
        If no mail is set up, or the customer was erased.
    """
    known = Mail.objects.filter(idempotency_key=idempotency_key).first()
    values = {"job": job, "kind": kind, "address": address, "subject_line": subject_line, "text": text}
    if known:
        refuse_unless_same(known, values)
        return known
    server = kept_settings()
    if not server.in_use and not by_hand:
        raise MailRefusedError("Mail is not set up. Download the PDF and send it yourself.")
    customer = Customer.objects.get(pk=job.vehicle.customer_id)
    if customer.forgotten_at:
        raise MailRefusedError("This customer was erased.")
    mail, is_new = Mail.objects.get_or_create(
        idempotency_key=idempotency_key,
        defaults=values
        | {
            "what": what[:160],
            "subject_kind": kind_of(subject),
            "subject_id": subject.pk,
            "message_id": "" if by_hand else f"<{idempotency_key}@{server.sender_address.rpartition('@')[2]}>",
            "put_in_at": actor.at,
            "put_in_by": actor.person,
        },
    )
    if not is_new:  # the same press, a moment earlier
        return mail
    for paper in papers:
        mail.attachments.create(file_name=paper.file_name, stored_as=paper.stored_as, sha256=paper.sha256)
    if keeps_address and not customer.email:
        change_customer(customer=customer, row_version=customer.row_version, values={"email": address}, actor=actor)
    if by_hand:
        sent_by_hand(mail=mail, actor=actor)
    else:
        note_mail(mail=mail, event=Event.MAIL_PUT_IN, line=f"Mail to the customer: {mail}", actor=actor)
        put_in_try(mail, 1)
    return mail


@transaction.atomic
def try_again(*, mail: Mail, actor: Actor) -> None:
    """Have a mail that failed tried once more, for another day.

    Raises
    ------
    MailRefusedError
        If it has not failed.
    """
    number = _decide(
        mail, StepKind.ASKED_AGAIN, "Tried again.", states={"failed"}, actor=actor, event=Event.MAIL_TRIED_AGAIN
    )
    put_in_try(mail, number + 1)


@transaction.atomic
def sent_by_hand(*, mail: Mail, actor: Actor) -> None:
    """Somebody sent it from their own mail program: it is no longer tried, and stands on no list.

    Raises
    ------
    MailRefusedError
        If it was sent from here.
    """
    _decide(
        mail, StepKind.BY_HAND, "Sent by hand.", states={"failed", "waiting"}, actor=actor, event=Event.MAIL_BY_HAND
    )


@transaction.atomic
def stop(*, mail: Mail, actor: Actor) -> None:
    """Do not send it, or let a failure rest.

    Raises
    ------
    MailRefusedError
        If it was sent.
    """
    _decide(mail, StepKind.STOPPED, "Stopped.", states={"failed", "waiting"}, actor=actor, event=Event.MAIL_STOPPED)


def _decide(mail: Mail, kind: StepKind, sentence: str, *, states: set[str], actor: Actor, event: Event) -> int:
    """Write down what a person decided, once however often it is pressed; the number of the last try."""
    mail = Mail.objects.select_for_update(of=("self",)).select_related("job").get(pk=mail.pk)
    standing = standing_of(mail)
    last = standing.last
    if last and last.kind == kind:
        return last.number
    if standing.state not in states:
        raise MailRefusedError(f"This mail is {standing.state}.")
    if last and last.kind == StepKind.BEGUN and actor.at - last.made_at < A_TRY_TAKES_AT_MOST:
        raise MailRefusedError("This mail is being sent just now. Look again in a minute.")
    number = last.number if last else 0
    line = f"Mail {sentence.removesuffix('.').lower()}: {mail}"
    write_step(mail=mail, number=number, kind=kind, sentence=sentence, actor=actor, event=event, line=line)
    return number


@transaction.atomic
def write_text(*, kind: MailKind, subject_line: str, text: str, row_version: int, actor: Actor) -> None:
    """Mails of `kind` begin with this text from now on.

    Raises
    ------
    StaleEditError
        If somebody else changed it in the meantime.
    """
    first = FIRST_TEXTS[kind]
    kept, _ = MailText.objects.get_or_create(
        kind=kind, defaults={"subject_line": first.subject_line, "text": first.text}
    )
    values = {"subject_line": subject_line, "text": text}
    if already_holds(kept, values):
        return
    before = said_of(kept, list(values), f"{kept}, ")
    save_if_unchanged(kept, row_version=row_version, values=values)
    note_change(get_workshop(), before=before, after=said_of(kept, list(values), f"{kept}, "), actor=actor)
