"""Reminding customers of a check, and writing the text of it."""

from collections.abc import Collection
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.formats import date_format

from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change
from jobs.job import journal
from jobs.rechecks.letters import current_text, letters_due, set_letters
from jobs.rechecks.models import Channel, Reminder, ReminderBatch, ReminderText
from jobs.rechecks.wording import TEXT_AT_FIRST, check, names_in


class ReminderRefusedError(RuleRefusedError):
    """These letters cannot be printed now. Says why."""


def print_letters(*, jobs: Collection[int], idempotency_key: UUID, actor: Actor) -> ReminderBatch:
    """Record a letter for each of `jobs` (by primary key) that is due for one. The same `idempotency_key` is one batch.

    They are set once before anything is recorded: where no paper can be made, nobody counts as reminded.

    Raises
    ------
    ReminderRefusedError
        If none of them is due for a letter, somebody else printed one of them at the same moment, or the text names the
        workshop's phone and there is none.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    """
    known = ReminderBatch.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        return known
    if "phone" in names_in(current_text().text) and not get_workshop().phone:
        raise ReminderRefusedError("The text says {phone}. Set the phone under Workshop first.")
    letters = [letter for letter in letters_due(timezone.localdate(actor.at))[0] if letter.job.pk in jobs]
    if not letters:
        raise ReminderRefusedError("No letter chosen that is still due.")
    set_letters(letters, actor.at)
    try:
        with transaction.atomic():
            batch = ReminderBatch.objects.create(
                made_at=actor.at, made_by=actor.person, idempotency_key=idempotency_key
            )
            for letter in letters:
                Reminder.objects.create(
                    batch=batch, job=letter.job, due_on=letter.due_on, channel=Channel.LETTER, text=letter.text
                )
                due = date_format(letter.due_on, "j M Y")
                journal.write(
                    letter.job, Event.REMINDED, f"Reminder letter printed: due {due}", actor=actor,
                    due_on=letter.due_on.isoformat(), channel=Channel.LETTER,
                )  # fmt: skip
    except IntegrityError as clash:
        known = ReminderBatch.objects.filter(idempotency_key=idempotency_key).first()
        if known:
            return known
        raise ReminderRefusedError("Someone else just printed one of these letters. Look again.") from clash
    return batch


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
