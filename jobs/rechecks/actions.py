"""Reminding customers of a check, and writing the text of it."""

from collections.abc import Collection
from uuid import UUID, uuid5

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.formats import date_format

from garage.customers.models import Customer
from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import SentBeforeError
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change
from jobs.job import journal
from jobs.post.actions import put_in_mail
from jobs.post.models import MailKind
from jobs.rechecks.letters import DueReminder, current_text, due_reminders, set_letters
from jobs.rechecks.models import Channel, Reminder, ReminderBatch, ReminderText
from jobs.rechecks.wording import TEXT_AT_FIRST, check, names_in


class ReminderRefusedError(RuleRefusedError):
    """These reminders cannot go out now. Says why."""


def print_letters(*, jobs: Collection[int], idempotency_key: UUID, actor: Actor) -> ReminderBatch:
    """Record a letter for each of `jobs` (by primary key) that is due for one. The same `idempotency_key` is one batch.

    They are set once before anything is recorded: where no paper can be made, nobody counts as reminded.

    Raises
    ------
    ReminderRefusedError
        If none of them is due for a letter, somebody else reminded of one of them at the same moment, a customer said
        no meanwhile, or the text names the workshop's phone and there is none.
    SentBeforeError
        If the same form came before with other jobs.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    """
    return _remind(jobs, Channel.LETTER, idempotency_key, actor)


def send_mails(*, jobs: Collection[int], idempotency_key: UUID, actor: Actor) -> ReminderBatch:
    """Record a mail for each of `jobs` (by primary key) that is due for one, and put it in.

    The same `idempotency_key` is one batch.

    Raises
    ------
    ReminderRefusedError
        As `print_letters`.
    jobs.post.refusals.MailRefusedError
        If mail was turned off meanwhile.
    """
    return _remind(jobs, Channel.MAIL, idempotency_key, actor)


def _remind(jobs: Collection[int], channel: Channel, idempotency_key: UUID, actor: Actor) -> ReminderBatch:
    known = ReminderBatch.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        if known.job_keys != set(jobs):
            raise SentBeforeError
        return known
    if "phone" in names_in(current_text().text) and not get_workshop().phone:
        raise ReminderRefusedError("The text says {phone}. Set the phone under Workshop first.")
    due, _ = due_reminders(timezone.localdate(actor.at))
    chosen = [one for one in due if one.job.pk in jobs and channel in one.ways]
    if not chosen:
        raise ReminderRefusedError(f"No {channel.label} chosen that is still due.")
    if channel == Channel.LETTER:
        set_letters(chosen, actor.at)
    try:
        with transaction.atomic():
            _refuse_who_said_no(chosen)
            batch = ReminderBatch.objects.create(
                made_at=actor.at, made_by=actor.person, idempotency_key=idempotency_key
            )
            for one in chosen:
                _record(one, channel, batch, actor)
    except IntegrityError as clash:
        known = ReminderBatch.objects.filter(idempotency_key=idempotency_key).first()
        if known:
            return known
        raise ReminderRefusedError("Someone else just reminded one of these customers. Look again.") from clash
    return batch


def _refuse_who_said_no(chosen: Collection[DueReminder]) -> None:
    """Setting letters takes seconds: whoever said no, or was erased, since they were chosen gets none."""
    keys = [one.job.vehicle.customer_id for one in chosen]
    customers = Customer.objects.select_for_update().filter(pk__in=keys)
    if any(customer.no_reminders or customer.forgotten_at for customer in customers):
        raise ReminderRefusedError("A customer said no meanwhile. Look again.")


def _record(one: DueReminder, channel: Channel, batch: ReminderBatch, actor: Actor) -> None:
    due = date_format(one.due_on, "j M Y")
    mail = None
    if channel == Channel.MAIL:
        mail = put_in_mail(
            job=one.job, kind=MailKind.REMINDER, subject=one.job, what=f"reminder, due {due}",
            address=one.job.vehicle.customer.email, subject_line=f"{one.job.vehicle.registration}: check due",
            text=one.text, papers=[], idempotency_key=uuid5(batch.idempotency_key, one.job.code), actor=actor,
        )  # fmt: skip
    Reminder.objects.create(
        batch=batch, job=one.job, due_on=one.due_on, channel=channel, text=one.text, mail=mail
    )  # fmt: skip
    words = "Reminder letter printed" if channel == Channel.LETTER else "Reminded by email"
    journal.write(
        one.job, Event.REMINDED, f"{words}: due {due}", actor=actor, due_on=one.due_on.isoformat(), channel=channel
    )


@transaction.atomic
def write_text(*, text: str, row_version: int, actor: Actor) -> None:
    """From now on reminders say `text`.

    Raises
    ------
    jobs.rechecks.wording.WordingError
        If a name in braces stands for nothing.
    StaleEditError
        If somebody else changed it in the meantime.
    """
    check(text)
    kept, _ = ReminderText.objects.get_or_create(defaults={"text": TEXT_AT_FIRST})
    if already_holds(kept, {"text": text}):
        return
    before = kept.text
    save_if_unchanged(kept, row_version=row_version, values={"text": text})
    said = "text of the reminder"
    note_change(get_workshop(), before={said: before}, after={said: text}, actor=actor)
