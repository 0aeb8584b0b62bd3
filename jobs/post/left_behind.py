"""Mail that waits while nobody will send it: its task broke for good, or stayed behind when the book was moved."""

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Exists, OuterRef, Q
from django.utils import timezone
from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from garage.background.queue import TRIES, put_in, tries_of
from garage.record.actor import Actor
from garage.record.events import Event
from jobs.post.models import Mail, MailStep, StepKind
from jobs.post.outcome_actions import GIVEN_UP_AFTER
from jobs.post.queries import STATES, Standing, standing_of, standings_of
from jobs.post.step_actions import write_step
from jobs.post.tasks import send_mail

LOOKED_FOR_EVERY = timedelta(minutes=10)
# Longer than a try takes, and than a worker may be silent.
OVERDUE_AFTER = timedelta(minutes=15)
NOBODY_SENT_IT = "Given up after a day. The background worker did not get it done."


def take_up_what_was_left_behind(now: datetime) -> None:
    """Have mail tried again whose task is gone; after a day it has failed, and says so on Today."""
    has_a_task = _mails_with_a_task()
    for standing in standings_of(_waiting()):
        if standing.mail.pk not in has_a_task and _due(standing) < now - OVERDUE_AFTER:
            _take_up(standing.mail, now)


@transaction.atomic
def _take_up(mail: Mail, now: datetime) -> None:
    mail = Mail.objects.select_for_update(of=("self",)).select_related("job", "put_in_by").get(pk=mail.pk)
    standing = standing_of(mail)
    if not standing.waits:  # meanwhile somebody dealt with it
        return
    number = standing.last.number if standing.last else 0
    if now > standing.wanted_since + GIVEN_UP_AFTER:
        write_step(
            mail=mail, number=number, kind=StepKind.GIVEN_UP, sentence=NOBODY_SENT_IT,
            actor=Actor(person=mail.put_in_by, at=now), event=Event.MAIL_FAILED,
            line=f"Mail failed: {mail}. {NOBODY_SENT_IT}",
        )  # fmt: skip
        return
    # The id of the task that broke is taken: one of its own every hour, whoever of the workers is first.
    put_in(send_mail, f"{mail.pk} taken up {timezone.localtime(now):%Y-%m-%d %H}", mail=mail.pk)


def _waiting() -> Any:
    """Mail that was neither sent nor stopped, and has not failed, since somebody last asked for it."""
    asked_again = MailStep.objects.filter(mail=OuterRef("mail"), place__gt=OuterRef("place"), kind=StepKind.ASKED_AGAIN)
    ended = MailStep.objects.filter(~Exists(asked_again), mail=OuterRef("pk"), kind__in=STATES)
    return Mail.objects.filter(~Exists(ended)).order_by("pk")


def _due(standing: Standing) -> datetime:
    """When something should have happened to a mail that waits."""
    last = standing.last
    return (last.again_at or last.made_at) if last else standing.mail.put_in_at


def _mails_with_a_task() -> set[int]:
    """The mails that a worker has in hand, or will have."""
    may_still_run = Q(status__in=[TaskResultStatus.READY, TaskResultStatus.RUNNING, TaskResultStatus.FAILED])
    rows = DBTaskResult.objects.filter(may_still_run, task_path=send_mail.module_path)
    return {
        int(row.args_kwargs["kwargs"]["mail"])
        for row in rows
        if row.status != TaskResultStatus.FAILED or tries_of(row) < TRIES
    }
