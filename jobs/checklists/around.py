"""What an entry is judged by: its item, the hold points before it, and what stands for them. Not the whole sheet.

It is read twice where it has to be: before the write lock is taken, so that nobody waits while one entry is judged, and
again inside if anything of it has changed in between.
"""

from dataclasses import dataclass
from uuid import UUID

from django.db.models import F, Q

from jobs.checklists.counting import number_of
from jobs.checklists.models import ChecklistItem, Confirmation, Entry, ItemKind, JobSheet
from jobs.checklists.refusals import EntryRefusedError
from jobs.checklists.sheet import Line, lines_of

# The car and the unit decide which items apply, and what is held against the record.
WITH_CAR = (
    "revision",
    "job__vehicle__engine",
    "job__vehicle__distributor",
    "job__vehicle__coil",
    "job__unit__revision",
)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a verdict on an entry rests on besides the item: while this stays the same, the verdict does.

    The car and its parts are changed in one stroke, which raises the version of the car's row.
    """

    revision: int
    state: str
    stage: str
    kind: str
    car_version: int
    unit_revision: int | None
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

    def still_holds(self, seen: Seen) -> bool:
        """Whether what was `seen` under the lock is what this was read by."""
        return not self.reads_the_record and self.seen == seen


def read_around(sheet: JobSheet, key: str, id: UUID) -> Around:
    """What an entry `id` of the item `key` is judged by. Two questions to the database, however long the list is."""
    items = list(sheet.revision.items.filter(Q(key=key) | Q(hold_point=True)))
    item = next((one for one in items if one.key == key), None)
    before = items[: items.index(item) + 1] if item is not None else []
    keys = tuple(one.key for one in before)
    found = list(
        Entry.objects.filter(Q(sheet=sheet, item__key__in=keys) | Q(pk=id)).select_related("by", "confirmation__by")
    )
    _give_items(found, items)
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


def _give_items(entries: list[Entry], items: list[ChecklistItem]) -> None:
    """Each entry its item: those at hand, and those of an earlier revision of the list by one question for all."""
    known = {item.pk: item for item in items}
    known |= ChecklistItem.objects.in_bulk({entry.item_id for entry in entries} - known.keys())
    for entry in entries:
        entry.item = known[entry.item_id]


def seen_under_lock(sheet: JobSheet, keys: tuple[str, ...]) -> Seen:
    """What stands by now for `keys` on the sheet, which is held against everybody else until this transaction ends.

    Only what is compared is asked for: while this is asked, every tablet of a workshop on SQLite waits.
    """
    locked = (
        JobSheet.objects.select_for_update(of=("self",))
        .only("revision")
        .annotate(
            state=F("job__state"),
            stage=F("job__stage"),
            job_kind=F("job__kind"),
            car_version=F("job__vehicle__row_version"),
            unit_revision=F("job__unit__revision"),
            entered=number_of(Entry, "sheet", item__key__in=keys),
            confirmed=number_of(Confirmation, "entry__sheet", entry__item__key__in=keys),
        )
        .get(pk=sheet.pk)
    )
    return Seen(
        revision=locked.revision_id,
        state=locked.state,
        stage=locked.stage,
        kind=locked.job_kind,
        car_version=locked.car_version,
        unit_revision=locked.unit_revision,
        entries=locked.entered,
        confirmations=locked.confirmed,
    )


def _seen(sheet: JobSheet, entries: int, confirmations: int) -> Seen:
    job = sheet.job
    return Seen(
        revision=sheet.revision_id,
        state=job.state,
        stage=job.stage,
        kind=job.kind,
        car_version=job.vehicle.row_version,
        unit_revision=job.unit.revision_id if job.unit else None,
        entries=entries,
        confirmations=confirmations,
    )
