"""Writing a job's sheet: beginning it, entries, second persons, moving to a newer list."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from django.core.files.base import ContentFile
from django.db import transaction

from garage.files.storage import discarded_on_failure
from garage.record.actor import Actor
from garage.record.append import append
from garage.record.events import Event
from garage.vehicles.firing_order import firing_order
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
from jobs.checklists.sheet import LEAVES_OPEN, Line, Sheet, sheet_of
from jobs.checklists.verdict import said
from jobs.job import journal
from jobs.job.models import Job


@transaction.atomic
def begin_sheet(*, job: Job, kind: SheetKind, revision: TemplateRevision, actor: Actor) -> JobSheet:
    """Begin the job's sheet of `kind` by `revision`. A sheet that was begun already stays as it is."""
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
    return sheet


@transaction.atomic
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
    made_at: datetime | None = None,
) -> Entry:
    """Append what `actor.person` entered for the item `key`. The same `id` again is the same entry.

    `measure` is in the canonical unit of the item, `unit` is the one it was read in; an item with one unit needs none
    named. `beside` is the second figure of a measure of two. `confirms` is the entry of the inspection whose answer was
    found to hold still: it must say the same.

    `replaces` are the entries that stood on the person's screen: this one corrects the first, the others are taken back
    with it. Whoever entered the same item unseen is not among them, and so both stay.

    Raises
    ------
    EntryRefusedError
        Saying which rule of the sheet is in the way.
    """
    return _enter(
        sheet, key, id, actor, outcome=outcome, measure=measure, unit=unit, beside=beside, choice=choice, text=text,
        note=note, replaces=replaces or [], confirms=confirms, made_at=made_at, has_photograph=False,
    )  # fmt: skip


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
        line = line_of(sheet_of(sheet), sheet, key)
        outcome = Outcome.DONE if line.item.kind == ItemKind.PHOTO else Outcome.NOTED
        entry = _enter(
            sheet, key, entry_id, actor, outcome=outcome, note=note, replaces=replaces or [], made_at=made_at,
            has_photograph=True,
        )  # fmt: skip
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


def _enter(
    sheet: JobSheet,
    key: str,
    id: UUID,
    actor: Actor,
    *,
    outcome: Outcome,
    replaces: list[UUID],
    made_at: datetime | None,
    has_photograph: bool,
    measure: float | None = None,
    unit: str = "",
    beside: float | None = None,
    choice: str = "",
    text: str = "",
    note: str = "",
    confirms: UUID | None = None,
) -> Entry:
    sheet = locked_sheet(sheet)
    note, text = note.strip(), text.strip()
    known = Entry.objects.select_related("item").filter(pk=id).first()
    if known:
        refuse_other_place(known, sheet, key)
        read_in = "" if measure is None else unit or known.item.unit
        written = firing_order(text) if known.item.car_fact == FIRING_ORDER else text
        refuse_other_words(known, actor.person, (outcome, measure, read_in, beside, choice, written, note))
        return known
    refuse_abandoned(sheet.job)
    state = sheet_of(sheet)
    line = line_of(state, sheet, key)
    refuse_ticking_a_reading(line, outcome)
    refuse_wrong_words(line.item, outcome, note, text)
    refuse_wrong_value(line.item, outcome, measure, choice, text)
    if line.item.car_fact == FIRING_ORDER and outcome == Outcome.DONE:
        text = as_firing_order(line.item, text, sheet.job)
    read = as_read(line.item, outcome, measure, unit, beside)
    confirmed = confirmed_at_inspection(sheet, line.item, confirms) if confirms else None
    if confirmed is not None:
        refuse_unlike(line.item, confirmed, read, choice, text)
    is_photo = line.item.kind == ItemKind.PHOTO and outcome == Outcome.DONE
    if is_photo and not has_photograph and confirmed is None:
        raise EntryRefusedError(f"‘{line.item.text}’ needs a photograph.")
    refuse_against_order(line, outcome, actor)
    seen = [entry for entry in line.history if entry.pk in set(replaces)]
    first, others = (seen[0], seen[1:]) if seen else (None, [])
    entry = _append(
        sheet, line, actor, id=id, outcome=outcome, choice=choice, text=text, note=note, supersedes=first,
        confirms=confirmed, made_at=made_at, **read,
    )  # fmt: skip
    for other in others:
        _append(
            sheet, line, actor, id=uuid5(id, str(other.pk)), outcome=Outcome.WITHDRAWN, supersedes=other,
            note="another entry was kept", made_at=made_at,
        )  # fmt: skip
    _write_journal(sheet, line, entry, first, actor)
    return entry


def _append(sheet: JobSheet, line: Line, actor: Actor, *, made_at: datetime | None, **values: Any) -> Entry:
    entry, _ = append(Entry, actor=actor, made_at=made_at, sheet=sheet, item=line.item, **values)
    return entry


def _write_journal(sheet: JobSheet, line: Line, entry: Entry, corrected: Entry | None, actor: Actor) -> None:
    sentence = f"{line.item.text}: {said(line.item, entry)}"
    if corrected and corrected.outcome not in LEAVES_OPEN:
        sentence += f"; before: {said(line.item, corrected)}, {corrected.by}"
    journal.write(
        sheet.job,
        Event.SHEET_ENTRY,
        sentence,
        actor=actor,
        sheet=sheet.kind,
        item=line.item.key,
        entry=str(entry.pk),
        corrects=str(corrected.pk) if corrected else None,
    )


@transaction.atomic
def move_to_revision(*, sheet: JobSheet, revision: TemplateRevision, actor: Actor) -> JobSheet:
    """Go on by another published revision of the same list. Entries that match one of its items stay on the sheet."""
    sheet = locked_sheet(sheet)
    refuse_abandoned(sheet.job)
    if revision.published_at is None or revision.template_id != sheet.revision.template_id:
        raise EntryRefusedError("A sheet can only change to a published revision of its own list.")
    left = sheet.revision
    if revision != left:
        sheet.revision = revision
        sheet.save(update_fields=["revision"])
        journal.write(
            sheet.job,
            Event.SHEET_MOVED,
            f"Changed the {sheet.get_kind_display()} sheet from revision {left.number} to {revision}",
            actor=actor,
            sheet=sheet.kind,
            left=left.number,
            entered=revision.number,
        )
    return sheet


def locked_sheet(sheet: JobSheet) -> JobSheet:
    """The sheet, held against everybody else until this transaction ends: rules are judged on what is really there."""
    return (
        JobSheet.objects.select_for_update(of=("self",))
        .select_related("revision__template", "job__vehicle")
        .get(pk=sheet.pk)
    )


def line_of(state: Sheet, sheet: JobSheet, key: str) -> Line:
    line = state.line(key)
    if line is not None:
        return line
    item = sheet.revision.items.filter(key=key).first()
    if item is None:
        raise EntryRefusedError("The list was changed: this item was removed.")
    raise EntryRefusedError(f"‘{item.text}’ does not apply to this car.")
