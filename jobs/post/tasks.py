"""Sending a mail in the background: one task a try, and the next one with a pause."""

import logging
from datetime import datetime

from django.db import transaction
from django.utils import timezone
from django_tasks import task

from garage.background.queue import put_in
from garage.files.issued import PaperDamagedError
from garage.mail.sending import Outgoing, hand_over
from garage.mail.server import answers_go_to, kept_settings, server_of
from garage.mail.troubles import MailNotTakenError
from garage.record.actor import Actor
from jobs.post import outcome_actions
from jobs.post.models import Mail
from jobs.post.papers import attached

log = logging.getLogger(__name__)


@task()
def send_mail(mail: int) -> str:
    """Mail to a customer."""
    found = Mail.objects.select_related("put_in_by", "job").get(pk=mail)
    number = outcome_actions.begin_try(mail=found, actor=_actor(found))
    if number is None:
        return "Nothing to send."
    try:
        answer = _hand_over(found)
    except MailNotTakenError as trouble:
        with transaction.atomic():
            again_at = outcome_actions.keep_not_taken(mail=found, number=number, trouble=trouble, actor=_actor(found))
            if again_at:
                put_in_try(found, number + 1, at=again_at)
        return str(trouble)
    outcome_actions.keep_sent(mail=found, number=number, answer=answer, actor=_actor(found))
    return "Sent."


def put_in_try(mail: Mail, number: int, *, at: datetime | None = None) -> None:
    """Have try `number` of `mail` made by a worker, not before `at`; in the transaction that is open."""
    put_in(send_mail.using(run_after=at) if at else send_mail, f"{mail.pk} {number}", mail=mail.pk)


def _hand_over(mail: Mail) -> str:
    kept = kept_settings()
    if not kept.in_use:
        raise MailNotTakenError("Mail is not set up.", for_good=True)
    try:
        outgoing = Outgoing(
            message_id=mail.message_id,
            to=mail.address,
            subject=mail.subject_line,
            text=mail.text,
            reply_to=answers_go_to(kept),
            attached=attached(mail.attachments.all()),
        )
        return hand_over(outgoing, server_of(kept))
    except MailNotTakenError:
        raise
    except PaperDamagedError as damage:
        raise MailNotTakenError(f"{damage}.", for_good=True) from damage
    except Exception as problem:
        # Whatever it is: the mail says that it was not sent, and is tried again.
        log.exception("A mail could not be handed over")
        raise MailNotTakenError("Something broke here. The log names it.") from problem


def _actor(mail: Mail) -> Actor:
    """Whoever put the mail in, now: a worker has no name."""
    return Actor(person=mail.put_in_by, at=timezone.now())
