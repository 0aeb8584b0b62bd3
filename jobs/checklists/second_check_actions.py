"""The second check of an item: by another person, or by the same one from a fresh start where nobody else is there."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from jobs.checklists.actions import locked_sheet, record_entry
from jobs.checklists.answered import SeenAgain
from jobs.checklists.around import read_around
from jobs.checklists.models import Confirmation, Entry, ItemKind, Outcome
from jobs.checklists.refusals import (
    SENT_TWICE,
    EntryRefusedError,
    as_read,
    refuse_abandoned,
    refuse_wrong_value,
)
from jobs.checklists.sheet import Line
from jobs.checklists.verdict import judge, said
from jobs.job import journal
from jobs.job.second_check import SecondCheckRefusedError, pause_in_words, pause_of_own


@transaction.atomic
def confirm_entry(*, entry: Entry, id: UUID, actor: Actor, made_at: datetime | None = None) -> Confirmation:
    """A second person has looked and found what `entry` says. Twice is once.

    Raises
    ------
    EntryRefusedError
        If it is the actor's own entry, was corrected meanwhile, or needs no second check.
    """
    known = _known(entry, id)
    if known:
        return known
    line = _line_waiting(entry)
    if entry.by_id == actor.person.pk:
        raise EntryRefusedError(f"‘{line.item.text}’ needs someone else for the second check: you made this entry.")
    confirmation, _ = append(Confirmation, id=id, actor=actor, made_at=made_at, entry=entry, first_person=entry.by)
    _write_journal(confirmation, line, f"({said(line.item, entry)}, {entry.by})", actor)
    return confirmation


@transaction.atomic
def look_again(
    *,
    entry: Entry,
    id: UUID,
    actor: Actor,
    measure: float | None = None,
    unit: str = "",
    beside: float | None = None,
    choice: str = "",
    text: str = "",
) -> Confirmation | Entry:
    """The person who made `entry` and works alone looks again after a pause, and says anew what is found.

    Judged as before it is the second check. Judged otherwise it stands beside the first, until one of both is kept.
    `text` is what is seen, for an item that has neither a figure nor a choice.

    Raises
    ------
    EntryRefusedError
        If nothing was said anew, or the entry was corrected meanwhile or needs no second check.
    SecondCheckRefusedError
        If somebody else is there today, or the pause was too short.
    """
    known = _known(entry, id) or Entry.objects.filter(pk=id).first()
    if known:
        return known
    line = _line_waiting(entry)
    if entry.by_id != actor.person.pk:
        raise SecondCheckRefusedError("Someone else’s entry: give the second check itself.")
    pause = pause_of_own(actor=actor, done_at=entry.made_at)
    seen = _said_anew(line, measure, unit, beside, choice, text)
    again = SeenAgain(**seen)
    if judge(line.item, again).holds != line.verdict.holds or again.choice != entry.choice:
        figures = {name: value for name, value in seen.items() if name != "altitude_m"}
        return record_entry(sheet=entry.sheet, key=line.item.key, id=id, actor=actor, **figures)
    seen.pop("altitude_m", None)
    confirmation, _ = append(
        Confirmation,
        id=id,
        actor=actor,
        entry=entry,
        first_person=entry.by,
        own_pause_s=int(pause.total_seconds()),
        **seen,
    )
    again_in_words = text.strip() or said(line.item, again)
    _write_journal(confirmation, line, f"by the same person: {again_in_words}", actor)
    return confirmation


def _said_anew(
    line: Line, measure: float | None, unit: str, beside: float | None, choice: str, text: str
) -> dict[str, Any]:
    """What is seen the second time, as an entry holds it. Never a bare tick."""
    item = line.item
    if item.kind not in (ItemKind.MEASURE, ItemKind.CHOICE) and not text.strip():
        raise EntryRefusedError("Say what you see now.", field="text")
    if item.kind in (ItemKind.MEASURE, ItemKind.CHOICE):
        refuse_wrong_value(item, Outcome.DONE, measure, choice, text)
    return {**as_read(item, Outcome.DONE, measure, unit, beside), "choice": choice, "text": text.strip()}


def _known(entry: Entry, id: UUID) -> Confirmation | None:
    locked_sheet(entry.sheet)
    known = Confirmation.objects.filter(entry=entry).first()
    if known is None and Confirmation.objects.filter(pk=id).exists():
        raise EntryRefusedError(SENT_TWICE)
    return known


def _line_waiting(entry: Entry) -> Line:
    """The line of `entry`, which stands there and waits for its second check."""
    sheet = locked_sheet(entry.sheet)
    refuse_abandoned(sheet.job)
    line = read_around(sheet, entry.item.key, entry.pk).needed_line()
    if entry not in line.standing:
        raise EntryRefusedError(f"‘{line.item.text}’ was corrected meanwhile. Look at the new entry.")
    if not line.waits_for_second:
        raise EntryRefusedError(f"‘{line.item.text}’ needs no second check.")
    return line


def _write_journal(confirmation: Confirmation, line: Line, words: str, actor: Actor) -> None:
    entry = confirmation.entry
    pause = pause_in_words(confirmation.own_pause_s)
    journal.write(
        entry.sheet.job,
        Event.SHEET_SECONDED,
        f"{line.item.text}: second check {words}" + (f" ({pause})" if pause else ""),
        actor=actor,
        sheet=entry.sheet.kind,
        item=line.item.key,
        entry=str(entry.pk),
    )
