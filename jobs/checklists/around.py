"""What an entry is judged by: its item, the hold points before it, and what stands for them. Not the whole sheet.

It is read twice where it has to be: before the write lock is taken, so that nobody waits while one entry is judged, and
again inside if anything of it has changed in between.
"""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import Q

from jobs.checklists.applies import CarFacts, facts_of
from jobs.checklists.counting import number_of
from jobs.checklists.models import ChecklistItem, Confirmation, Entry, ItemKind, JobSheet
from jobs.checklists.refusals import EntryRefusedError
from jobs.checklists.sheet import Line, lines_of
from jobs.job.models import JobState

# The car and the unit decide which items apply, and what is held against the record.
WITH_CAR = (
    "revision__template",
    "job__vehicle__engine",
    "job__vehicle__distributor",
    "job__vehicle__coil",
    "job__unit__revision__unit_type",
)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a verdict on an entry rests on besides the item: while this stays the same, the verdict does."""

    revision: int
    is_abandoned: bool
    car_version: int
    facts: tuple[tuple[str, object], ...]
    entries: int
    confirmations: int


@dataclass(frozen=True, slots=True)
class Around:
    """What was read for one entry of the item `key`."""

    sheet: JobSheet
    key: str
    item: ChecklistItem | None  # None where the list has none of that key
    line: Line | None  # None where the item does not apply to the car
    known: Entry | None  # the entry of that id, if it is in the record already
    keys: tuple[str, ...]  # of the item and the hold points before it
    seen: Seen
    reads_the_record: bool  # whether readings are among it: those may change without any entry

    def needed_line(self) -> Line:
        """The line of the item.

        Raises
        ------
        EntryRefusedError
            If it is not on the sheet.
        """
        if self.item is None:
            raise EntryRefusedError("The list was changed: this item was removed.")
        if self.line is None:
            raise EntryRefusedError(f"‘{self.item.text}’ does not apply to this car.")
        return self.line

    def still_holds(self, locked: JobSheet) -> bool:
        """Whether `locked`, as `locked_with_counts` gives it, is what was read."""
        return not self.reads_the_record and self.seen == _seen(locked, locked.entered, locked.confirmed)  # type: ignore[attr-defined]


def read_around(sheet: JobSheet, key: str, id: UUID) -> Around:
    """What an entry `id` of the item `key` is judged by. Two questions to the database, however long the list is."""
    items = list(sheet.revision.items.filter(Q(key=key) | Q(hold_point=True)))
    item = next((one for one in items if one.key == key), None)
    before = items[: items.index(item) + 1] if item is not None else []
    keys = tuple(one.key for one in before)
    found = list(
        Entry.objects.filter(Q(sheet=sheet, item__key__in=keys) | Q(pk=id)).select_related(
            "item", "by", "confirmation__by"
        )
    )
    entries = [entry for entry in found if entry.sheet_id == sheet.pk and entry.item.key in keys]
    confirmed = sum(getattr(entry, "confirmation", None) is not None for entry in entries)
    lines = lines_of(sheet, before, entries)
    return Around(
        sheet=sheet,
        key=key,
        item=item,
        line=next((line for line in lines if line.item.key == key), None),
        known=next((entry for entry in found if entry.pk == id), None),
        keys=keys,
        seen=_seen(sheet, len(entries), confirmed),
        reads_the_record=any(one.kind == ItemKind.READING for one in before),
    )


def locked_with_counts(sheet: JobSheet, keys: tuple[str, ...]) -> JobSheet:
    """The sheet, held against everybody else until this transaction ends, and how much stands for `keys` by now."""
    return (
        JobSheet.objects.select_for_update(of=("self",))
        .select_related(*WITH_CAR)
        .annotate(
            entered=number_of(Entry, "sheet", item__key__in=keys),
            confirmed=number_of(Confirmation, "entry__sheet", entry__item__key__in=keys),
        )
        .get(pk=sheet.pk)
    )


def _seen(sheet: JobSheet, entries: int, confirmations: int) -> Seen:
    facts: CarFacts = facts_of(sheet.job)
    return Seen(
        revision=sheet.revision_id,
        is_abandoned=sheet.job.state == JobState.ABANDONED,
        car_version=sheet.job.vehicle.row_version,
        facts=tuple(facts.items()),
        entries=entries,
        confirmations=confirmations,
    )
