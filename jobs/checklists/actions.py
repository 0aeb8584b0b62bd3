"""Writing a job's sheet: beginning it, entries, second persons, moving to a newer list."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction

from garage.files.storage import discarded_on_failure
from garage.record.actor import Actor
from garage.record.append import append, append_new
from garage.record.events import Event
from garage.vehicles.firing_order import firing_order
from jobs.checklists.around import WITH_CAR, Around, read_around, seen_under_lock
from jobs.checklists.models import (
    Entry,
    ItemKind,
    JobSheet,
    Outcome,
    Photograph,
    SheetKind,
    TemplateRevision,
)
from jobs.checklists.photographs import Picture
from jobs.checklists.record_writing import fill_empty_record
from jobs.checklists.refusals import (
    FIRING_ORDER,
    EntryRefusedError,
    as_firing_order,
    as_read,
    confirmed_at_inspection,
    refuse_abandoned,
    refuse_against_order,
    refuse_other_place,
    refuse_other_words,
    refuse_ticking_a_reading,
    refuse_unlike,
    refuse_wrong_value,
    refuse_wrong_words,
)
from jobs.checklists.sheet import LEAVES_OPEN, Line
from jobs.checklists.together import refuse_together, together_in_words
from jobs.checklists.verdict import said as said_in_words
from jobs.job import journal
from jobs.job.models import Job


@transaction.atomic
def begin_sheet(*, job: Job, kind: SheetKind, revision: TemplateRevision, actor: Actor) -> JobSheet:
    """Begin the job's sheet of `kind` by `revision`.

    A sheet that was begun already stays as it is once something was entered on it; before that it takes the other list.
    """
    if revision.published_at is None or revision.template.kind != kind:
        raise EntryRefusedError("This list is not published or not for this stage.")
    if revision.template.retired:
        raise EntryRefusedError(f"The list ‘{revision.template}’ was withdrawn. Start another.")
    refuse_abandoned(job)
    sheet, begun = JobSheet.objects.get_or_create(
        job=job, kind=kind, defaults={"revision": revision, "begun_at": actor.at}
    )
    if begun:
        journal.write(
            job,
            Event.SHEET_BEGUN,
            f"Started the {kind.label} sheet: {revision}",
            actor=actor,
            sheet=kind,
            revision=revision.number,
        )
    elif sheet.revision.template_id != revision.template_id:
        _change_list(sheet, revision, actor)
    return sheet


def _change_list(sheet: JobSheet, revision: TemplateRevision, actor: Actor) -> None:
    """An untouched sheet goes over to another list."""
    sheet = locked_sheet(sheet)
    if sheet.entries.exists():
        raise EntryRefusedError(f"The sheet has entries by ‘{sheet.revision.template}’ already. It keeps that list.")
    _go_over(sheet, revision, str(sheet.revision), actor)


def _go_over(sheet: JobSheet, revision: TemplateRevision, left_in_words: str, actor: Actor) -> None:
    left, sheet.revision = sheet.revision, revision
    sheet.save(update_fields=["revision"])
    journal.write(
        sheet.job,
        Event.SHEET_MOVED,
        f"Changed the {sheet.get_kind_display()} sheet from {left_in_words} to {revision}",
        actor=actor,
        sheet=sheet.kind,
        left=left.number,
        entered=revision.number,
    )


def record_entry(
    *,
    sheet: JobSheet,
    key: str,
    id: UUID,
    actor: Actor,
    outcome: Outcome = Outcome.DONE,
    measure: float | None = None,
    unit: str = "",
    beside: float | None = None,
    choice: str = "",
    text: str = "",
    note: str = "",
    replaces: list[UUID] | None = None,
    confirms: UUID | None = None,
    together: int | None = None,
    made_at: datetime | None = None,
) -> Entry:
    """Append what `actor.person` entered for the item `key`. The same `id` again is the same entry.

    `measure` is in the canonical unit of the item, `unit` is the one it was read in; an item with one unit needs none
    named. `beside` is the second figure of a measure of two. `confirms` is the entry of the inspection whose answer was
    found to hold still: it must say the same. `together` is the number of plain looks that the same tap answered.

    `replaces` are the entries that stood on the person's screen: this one corrects the first, the others are taken back
    with it. Whoever entered the same item unseen is not among them, and so both stay.

    Raises
    ------
    EntryRefusedError
        Saying which rule of the sheet is in the way.
    """
    said = _Said(
        outcome=outcome, measure=measure, unit=unit, beside=beside, choice=choice, text=text.strip(), note=note.strip(),
        replaces=frozenset(replaces or []), confirms=confirms, together=together,
    )  # fmt: skip
    return _enter(sheet=sheet, key=key, id=id, actor=actor, said=said, made_at=made_at)


@discarded_on_failure()
@transaction.atomic
def record_photograph(
    *,
    sheet: JobSheet,
    key: str,
    id: UUID,
    entry_id: UUID,
    picture: Picture,
    actor: Actor,
    note: str = "",
    replaces: list[UUID] | None = None,
    made_at: datetime | None = None,
) -> Photograph:
    """Append a photograph to the entry `entry_id`, which is made with it if it does not exist yet.

    A new entry answers an item that asks for a photograph; any other item stays open, with the photograph noted.
    The same `id` again is the same photograph. It is decoded already: SQLite lets nobody else write meanwhile.

    Raises
    ------
    EntryRefusedError
        If the sheet does not take it.
    """
    sheet = locked_sheet(sheet)
    known = Photograph.objects.select_related("entry__item").filter(pk=id).first()
    if known:
        refuse_other_place(known.entry, sheet, key)
        return known
    entry = Entry.objects.select_related("item").filter(pk=entry_id).first()
    if entry is None:
        asks_for_one = sheet.revision.items.filter(key=key, kind=ItemKind.PHOTO).exists()
        said = _Said(
            outcome=Outcome.DONE if asks_for_one else Outcome.NOTED,
            note=note.strip(), replaces=frozenset(replaces or []), has_photograph=True,
        )  # fmt: skip
        entry = _enter(sheet=sheet, key=key, id=entry_id, actor=actor, said=said, made_at=made_at)
    else:
        refuse_other_place(entry, sheet, key)
        refuse_abandoned(sheet.job)
        journal.write(
            sheet.job, Event.SHEET_PHOTOGRAPH, f"{entry.item.text}: photograph", actor=actor, sheet=sheet.kind,
            item=key, entry=str(entry.pk), photograph=str(id),
        )  # fmt: skip
    photograph, _ = append(
        Photograph,
        id=id,
        actor=actor,
        made_at=made_at,
        entry=entry,
        file=ContentFile(picture.image, name=f"{sheet.job.code}/{id}.jpg"),
        thumbnail=ContentFile(picture.thumbnail, name=f"{sheet.job.code}/{id}-small.jpg"),
        width=picture.width,
        height=picture.height,
        sha256=picture.sha256,
    )
    return photograph


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    """What one message says of an item, whoever sent it."""

    outcome: Outcome
    measure: float | None = None
    unit: str = ""
    beside: float | None = None
    choice: str = ""
    text: str = ""
    note: str = ""
    replaces: frozenset[UUID] = frozenset()
    confirms: UUID | None = None
    together: int | None = None
    has_photograph: bool = False


@dataclass(frozen=True, slots=True)
class _Judged:
    """An entry that the sheet takes: its columns, and the entries that it corrects."""

    line: Line
    columns: dict[str, Any]
    corrects: list[Entry]


def _enter(*, sheet: JobSheet, key: str, id: UUID, actor: Actor, said: _Said, made_at: datetime | None) -> Entry:
    """Judged before the write lock is taken, and again inside it if anything of what counts has changed since.

    With one lock for the whole book, as SQLite has it, everybody else waits for whoever holds it: inside there is
    one question and the writing.
    """
    around = read_around(sheet, key, id)
    if around.known is not None:
        return _known_entry(around.known, sheet, key, actor, said)
    judged = _judge(around, said, actor)
    try:
        with transaction.atomic():
            if not around.still_holds(seen_under_lock(sheet)) or said.confirms is not None:
                around = read_around(locked_sheet(sheet), key, id)
                if around.known is not None:
                    return _known_entry(around.known, around.sheet, key, actor, said)
                judged = _judge(around, said, actor)
            return _write(around.sheet, judged, id=id, actor=actor, made_at=made_at)
    except IntegrityError:
        # The same id came in for another sheet at the same moment.
        known = Entry.objects.select_related("item").filter(pk=id).first()
        if known is None:
            raise
        return _known_entry(known, sheet, key, actor, said)


def _known_entry(known: Entry, sheet: JobSheet, key: str, actor: Actor, said: _Said) -> Entry:
    """The entry as it was first sent; refused where the same id says something else now."""
    refuse_other_place(known, sheet, key)
    read_in = "" if said.measure is None else said.unit or known.item.unit
    written = firing_order(said.text) if known.item.car_fact == FIRING_ORDER else said.text
    refuse_other_words(
        known,
        actor.person,
        (said.outcome, said.measure, read_in, said.beside, said.choice, written, said.note, said.together),
    )
    return known


def _judge(around: Around, said: _Said, actor: Actor) -> _Judged:
    """Whether the sheet takes what was said, and as what. Writes nothing."""
    sheet, text = around.sheet, said.text
    refuse_abandoned(sheet.job, state_is_fresh=True)
    line = around.needed_line()
    item = line.item
    refuse_ticking_a_reading(line, said.outcome)
    refuse_wrong_words(item, said.outcome, said.note, text)
    refuse_wrong_value(item, said.outcome, said.measure, said.choice, text)
    if said.together is not None:
        refuse_together(
            line,
            outcome=said.outcome,
            choice=said.choice,
            note=said.note,
            together=said.together,
            confirms=said.confirms is not None,
        )
    if item.car_fact == FIRING_ORDER and said.outcome == Outcome.DONE:
        text = as_firing_order(item, text, sheet.job)
    read = as_read(item, said.outcome, said.measure, said.unit, said.beside)
    confirmed = confirmed_at_inspection(sheet, item, said.confirms) if said.confirms else None
    if confirmed is not None:
        refuse_unlike(item, confirmed, read, said.choice, text)
    is_photo = item.kind == ItemKind.PHOTO and said.outcome == Outcome.DONE
    if is_photo and not said.has_photograph and confirmed is None:
        raise EntryRefusedError(f"‘{item.text}’ needs a photograph.")
    refuse_against_order(line, said.outcome, actor)
    columns = {
        "outcome": said.outcome, "choice": said.choice, "text": text, "note": said.note, "confirms": confirmed,
        "together": said.together,
    }  # fmt: skip
    return _Judged(line, columns | read, [entry for entry in line.history if entry.pk in said.replaces])


def _write(sheet: JobSheet, judged: _Judged, *, id: UUID, actor: Actor, made_at: datetime | None) -> Entry:
    line = judged.line
    first, others = (judged.corrects[0], judged.corrects[1:]) if judged.corrects else (None, [])
    entry = append_new(
        Entry, id=id, actor=actor, made_at=made_at, sheet=sheet, item=line.item, supersedes=first, **judged.columns
    )
    for other in others:
        append(
            Entry, id=uuid5(id, str(other.pk)), actor=actor, made_at=made_at, sheet=sheet, item=line.item,
            outcome=Outcome.WITHDRAWN, supersedes=other, note="another entry was kept",
        )  # fmt: skip
    _write_journal(sheet, line, entry, first, actor)
    fill_empty_record(sheet=sheet, entry=entry, actor=actor)
    return entry


def _write_journal(sheet: JobSheet, line: Line, entry: Entry, corrected: Entry | None, actor: Actor) -> None:
    sentence = f"{line.item.text}: {said_in_words(line.item, entry)}{together_in_words(entry)}"
    if corrected and corrected.outcome not in LEAVES_OPEN:
        sentence += f"; before: {said_in_words(line.item, corrected)}, {corrected.by}"
    journal.write(
        sheet.job,
        Event.SHEET_ENTRY,
        sentence,
        actor=actor,
        sheet=sheet.kind,
        item=line.item.key,
        entry=str(entry.pk),
        corrects=str(corrected.pk) if corrected else None,
        state_is_fresh=True,
    )


@transaction.atomic
def move_to_revision(*, sheet: JobSheet, revision: TemplateRevision, actor: Actor) -> JobSheet:
    """Go on by another published revision of the same list. Entries that match one of its items stay on the sheet."""
    sheet = locked_sheet(sheet)
    refuse_abandoned(sheet.job)
    if revision.published_at is None or revision.template_id != sheet.revision.template_id:
        raise EntryRefusedError("A sheet can only change to a published revision of its own list.")
    if revision != sheet.revision:
        _go_over(sheet, revision, f"revision {sheet.revision.number}", actor)
    return sheet


def locked_sheet(sheet: JobSheet) -> JobSheet:
    """The sheet, held against everybody else until this transaction ends: rules are judged on what is really there."""
    return JobSheet.objects.select_for_update(of=("self",)).select_related("revision", *WITH_CAR).get(pk=sheet.pk)
