"""What an entry is judged by: its item, the hold points before it, and what stands for them. Not the whole sheet.

It is read twice where it has to be: before the write lock is taken, so that nobody waits while one entry is judged, and
again inside if anything of it has changed in between.
"""

from dataclasses import dataclass
from operator import attrgetter
from uuid import UUID

from django.db.models import Q

from garage.record.queries import lines_of_job, trail_of_job
from jobs.checklists.models import ChecklistItem, Entry, ItemKind, JobSheet
from jobs.checklists.published import give_items, items_of
from jobs.checklists.refusals import EntryRefusedError
from jobs.checklists.sheet import Line, lines_of

# The car and the unit decide which items apply, and what is held against the record.
WITH_CAR = (
    "job__vehicle__engine",
    "job__vehicle__distributor",
    "job__vehicle__coil",
    "job__unit__revision",
)


@dataclass(frozen=True, slots=True)
class Seen:
    """What a verdict on an entry rests on besides the item: while this stays the same, the verdict does.

    The car and its parts are changed in one stroke, which raises the version of the car's row. Whoever enters anything
    on a sheet or looks at it a second time writes a line in the journal of the job.
    """

    revision: int
    state: str
    stage: str
    kind: str
    car_version: int
    unit_revision: int | None
    journal_lines: int


@dataclass(frozen=True, slots=True)
class Around:
    """What was read for one entry of the item `key`."""

    sheet: JobSheet
    key: str
    item: ChecklistItem | None  # None where the list has none of that key
    line: Line | None  # None where the item does not apply to the car
    known: Entry | None  # the entry of that id, if it is in the record already
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
    """What an entry `id` of the item `key` is judged by. Two questions to the database, however long the list is.

    They are asked with every tick of every tablet: what comes back is put in order here.
    """
    # Counted before the entries are read: what comes in between is noticed under the lock.
    journal_lines = trail_of_job(sheet.job_id).count()
    items = [one for one in items_of(sheet.revision_id) if one.key == key or one.hold_point]
    item = next((one for one in items if one.key == key), None)
    before = items[: items.index(item) + 1] if item is not None else []
    keys = [one.key for one in before]
    entries = Entry.objects.filter(Q(sheet=sheet, item__key__in=keys) | Q(pk=id)).select_related("confirmation")
    found = sorted(entries.order_by(), key=attrgetter("received_at", "made_at"))
    give_items(found)
    lines = lines_of(sheet, before, [one for one in found if one.sheet_id == sheet.pk and one.item.key in keys])
    return Around(
        sheet=sheet,
        key=key,
        item=item,
        line=next((line for line in lines if line.item.key == key), None),
        known=next((entry for entry in found if entry.pk == id), None),
        seen=_seen(sheet, journal_lines=journal_lines),
        reads_the_record=any(one.kind == ItemKind.READING for one in before),
    )


def seen_under_lock(sheet: JobSheet) -> Seen:
    """What stands by now of the sheet, which is held against everybody else until this transaction ends.

    Only what is compared is asked for: while this is asked, every tablet of a workshop on SQLite waits.
    """
    locked = JobSheet.objects.select_for_update(of=("self",)).annotate(journal_lines=lines_of_job(sheet.job_id))
    columns = (
        "revision",
        "job__state",
        "job__stage",
        "job__kind",
        "job__vehicle__row_version",
        "job__unit__revision",
        "journal_lines",
    )
    return Seen(*locked.values_list(*columns).get(pk=sheet.pk))


def _seen(sheet: JobSheet, *, journal_lines: int) -> Seen:
    job = sheet.job
    return Seen(
        revision=sheet.revision_id,
        state=job.state,
        stage=job.stage,
        kind=job.kind,
        car_version=job.vehicle.row_version,
        unit_revision=job.unit.revision_id if job.unit else None,
        journal_lines=journal_lines,
    )
