"""A job's sheet as it stands now: worked out from the list, the car and the entries, each time anew."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from django.db.models import prefetch_related_objects

from garage.people.models import Staff
from jobs.checklists import readers
from jobs.checklists.after_strobe import COMES_AFTER
from jobs.checklists.applies import Applies, applies, facts_of
from jobs.checklists.car_facts import Comparison, compare
from jobs.checklists.measuring import quantity_of
from jobs.checklists.models import (
    ChecklistItem,
    Confirmation,
    Entry,
    ItemKind,
    JobSheet,
    Outcome,
    Photograph,
    SheetKind,
)
from jobs.checklists.published import give_items, items_of
from jobs.checklists.readers import Found
from jobs.checklists.verdict import NOTHING_YET, Verdict, judge, said
from jobs.job.models import Job

# An entry that takes another back, or only notes something, leaves its item open.
LEAVES_OPEN = {Outcome.WITHDRAWN, Outcome.NOTED}


@dataclass
class Line:
    """One item of the sheet with all that was entered for it."""

    item: ChecklistItem
    applies: Applies
    history: list[Entry]  # all of it, in the order in which it came in
    hold: "Line | None" = None  # the hold point before this line that is not met
    job: Job | None = None  # whose record is read and held against; none: only what was entered counts
    inspected: Entry | None = None  # what stands on the inspection sheet for the same question
    after: "Line | None" = None  # the reading that has to be there first

    @cached_property
    def found(self) -> Found | None:
        """What the record says of an item that reads it."""
        if self.item.kind != ItemKind.READING or self.job is None:
            return None
        return readers.read(self.item.reader, self.job)

    @property
    def is_read(self) -> bool:
        """Whether the readings it speaks of are there."""
        return self.found is not None and self.found.is_done

    @property
    def comes_later(self) -> bool:
        """Whether nobody is asked for it yet."""
        return self.after is not None and not self.after.is_read

    @cached_property
    def comparison(self) -> Comparison | None:
        """What was measured beside the car's record; None where nothing is to be held against it."""
        if self.job is None or self.is_conflict or self.current is None or self.current.outcome != Outcome.DONE:
            return None
        return compare(self.item, self.current, self.job.vehicle)

    @property
    def is_unsettled(self) -> bool:
        """Whether the car's record says something else, or nothing: a person decides which of both is right."""
        return self.comparison is not None and not self.comparison.agrees

    @cached_property
    def leaves(self) -> list[Entry]:
        """The entries nobody has corrected."""
        corrected = {entry.supersedes_id for entry in self.history}
        return [entry for entry in self.history if entry.pk not in corrected]

    @cached_property
    def standing(self) -> list[Entry]:
        """What holds now. More than one: people entered the same item without knowing of each other."""
        kept = [entry for entry in self.leaves if entry.outcome != Outcome.WITHDRAWN]
        return [entry for entry in kept if entry.outcome != Outcome.NOTED] or kept

    @property
    def current(self) -> Entry | None:
        return self.standing[-1] if self.standing else None

    @property
    def heads(self) -> list[Entry]:
        """What the next entry of this item replaces."""
        return self.standing or self.leaves[-1:]

    @property
    def is_conflict(self) -> bool:
        """Whether people entered different things; both stay until one is taken back."""
        said = {(entry.outcome, entry.measure, entry.beside, entry.choice, entry.text) for entry in self.standing}
        return len(said) > 1 and not self.is_read

    @property
    def is_open(self) -> bool:
        return not self.is_read and (self.current is None or self.current.outcome in LEAVES_OPEN)

    @property
    def verdict(self) -> Verdict:
        if self.found is not None and self.found.is_done:
            return READ if self.found.passes else READ_AND_FAILS
        if self.current is None:
            return NOTHING_YET
        if self.is_conflict:
            return Verdict("stop", f"{len(self.standing)} different entries: keep one", holds=False)
        judged = judge(self.item, self.current)
        if judged.mark == "stop" or self.comparison is None or self.comparison.agrees:
            return judged
        return NOT_IN_THE_RECORD if self.comparison.is_new else DIFFERS

    @property
    def second(self) -> Confirmation | None:
        """The second person's word on what stands now."""
        return next((seconded for entry in self.standing if (seconded := _confirmation(entry))), None)

    @property
    def waits_for_second(self) -> bool:
        return self.item.second_person and not self.is_open and not self.is_conflict and self.second is None

    @property
    def is_done(self) -> bool:
        """Dealt with: entered or read, agreed upon and, where the item wants it, seen by a second person."""
        return not (self.is_open or self.is_conflict or self.is_unsettled or self.waits_for_second)

    @property
    def holds(self) -> bool:
        """Whether work may go on past this line, if it is a hold point."""
        return self.is_done and self.verdict.holds

    @property
    def photographs(self) -> list[Photograph]:
        """Those of what stands now and of what it corrected, back to where somebody took it all back."""
        by_id = {entry.pk: entry for entry in self.history}
        found: list[Photograph] = []
        seen = set()
        for head in self.standing:
            entry: Entry | None = head
            while entry is not None and entry.outcome != Outcome.WITHDRAWN and entry.pk not in seen:
                seen.add(entry.pk)
                found += entry.photographs.all()
                entry = by_id.get(entry.supersedes_id) if entry.supersedes_id else None
        return sorted(found, key=lambda photograph: (photograph.received_at, str(photograph.pk)))

    @property
    def still_wanted(self) -> str:
        """What this line still wants before the stage may be left, in words; nothing where it wants nothing."""
        if self.is_conflict:
            return f"{self.item.text}: different entries, keep one"
        if self.is_unsettled and self.comparison is not None:
            return f"{self.item.text}: {self.comparison.sentence}"
        if self.item.hold_point and self.has_failed:
            return f"{self.item.text}: {self.said}"
        if self.waits_for_second:
            return f"{self.item.text}: second check needed"
        if self.is_open and (self.item.required or self.item.hold_point):
            return f"{self.item.text}: {_inside(self.found.text)}" if self.found else self.item.text
        return ""

    @property
    def by(self) -> str:
        """Whoever entered what stands, or took the last of the readings."""
        if self.is_read and self.found is not None:
            return self.found.by
        return str(self.current.by) if self.current else ""

    @property
    def at(self) -> datetime | None:
        if self.is_read and self.found is not None:
            return self.found.at
        return self.current.made_at if self.current else None

    @property
    def has_failed(self) -> bool:
        """Whether it was dealt with and work may not go on past it, if it is a hold point."""
        return not self.is_open and not self.waits_for_second and not self.holds

    @property
    def said(self) -> str:
        """What stands for it in one breath."""
        if self.found is not None and self.found.is_done:
            return f"{self.found.text}, {self.verdict.words}"
        if self.current is None or self.is_conflict:
            return self.verdict.words
        return said(self.item, self.current)


READ = Verdict("good", "recorded", holds=True)
READ_AND_FAILS = Verdict("stop", "fail", holds=False)
DIFFERS = Verdict("stop", "differs from the car’s record", holds=False)
NOT_IN_THE_RECORD = Verdict("caution", "not in the car’s record yet", holds=False)


def _inside(sentence: str) -> str:
    """A sentence as it stands inside another one."""
    return sentence[:1].lower() + sentence[1:].rstrip(".")


def _confirmation(entry: Entry) -> Confirmation | None:
    return getattr(entry, "confirmation", None)


@dataclass
class Section:
    title: str
    lines: list[Line] = field(default_factory=list)

    @property
    def done(self) -> int:
        return sum(line.is_done for line in self.lines)

    @property
    def total(self) -> int:
        return len(self.lines)

    @property
    def out_of_tolerance(self) -> int:
        return sum(line.verdict.mark == "stop" for line in self.lines)


@dataclass
class Sheet:
    """The sheet of one job: the lines that apply to its car, in order."""

    record: JobSheet
    lines: list[Line]

    @cached_property
    def sections(self) -> list[Section]:
        sections: dict[str, Section] = {}
        for line in self.lines:
            sections.setdefault(line.item.section, Section(line.item.section)).lines.append(line)
        return list(sections.values())

    def line(self, key: str) -> Line | None:
        return next((line for line in self.lines if line.item.key == key), None)

    @property
    def done(self) -> int:
        return sum(line.is_done for line in self.lines)

    @property
    def total(self) -> int:
        return len(self.lines)

    @property
    def next_open(self) -> Line | None:
        """Where work goes on: the hold point that failed, else the first line that waits for somebody.

        Lines behind a hold point that is not met are left out, and so is what only a later stage reads.
        """
        hold = self.unmet_hold
        if hold is not None and hold.has_failed:
            return hold
        return next((line for line in self.lines if _wants_somebody(line)), None)

    @property
    def unmet_hold(self) -> Line | None:
        return next((line for line in self.lines if line.item.hold_point and not line.holds), None)


def _wants_somebody(line: Line) -> bool:
    if line.is_done or line.hold is not None or line.comes_later:
        return False
    return line.item.required or line.item.kind != ItemKind.READING


# What is read of every entry.
LAID_OUT_WITH = ("by", "device", "confirmation__by", "photographs")


def sheet_of(record: JobSheet, *, reads: bool = True) -> Sheet:
    """`record` worked out. A few questions to the database, however long the list is.

    Without `reads` only what was entered counts. A reader that asks the sheet for a figure asks so: nothing of the
    record is read then, and no reader is asked by itself.
    """
    entries = list(record.entries.all())
    prefetch_related_objects(entries, *LAID_OUT_WITH)
    give_items(entries)
    items = items_of(record.revision_id)
    inspected = _inspected(record) if reads and any(item.inspection_key for item in items) else {}
    return Sheet(record, lines_of(record, items, entries, inspected=inspected, reads=reads))


def lines_of(
    record: JobSheet,
    items: Iterable[ChecklistItem],
    entries: Iterable[Entry],
    *,
    inspected: Mapping[str, Entry] | None = None,
    reads: bool = True,
) -> list[Line]:
    """The lines of `items`, which are in their order, with those of `entries` that are theirs.

    Each knows the first hold point among the `items` before it that is not met. `inspected` is what stands on the
    inspection sheet, by the keys of its items.
    """
    facts, inspected = facts_of(record.job), inspected or {}
    history: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        history[entry.item.key].append(entry)
    lines = []
    hold: Line | None = None
    for item in items:
        matching = [entry for entry in history[item.key] if matches(item, entry)]
        line = Line(item, applies(item.applies, facts), matching, hold, record.job if reads else None)
        before = inspected.get(item.inspection_key)
        if before is not None and means_the_same(item, before):
            line.inspected = before
        # What was entered is shown, even if by now the car is known to need no such item.
        if not line.applies.holds and line.is_open:
            continue
        lines.append(line)
        if item.hold_point and hold is None and not line.holds:
            hold = line
    by_key = {line.item.key: line for line in lines}
    for line in lines:
        line.after = by_key.get(COMES_AFTER.get(line.item.key, ""))
    return lines


def _inspected(record: JobSheet) -> dict[str, Entry]:
    """What stands on the inspection sheet of the same job, by the keys of its items."""
    before = next((one for one in record.job.sheets.all() if one.kind == SheetKind.INSPECTION), None)
    if before is None or before.pk == record.pk:
        return {}
    before.job = record.job
    lines = sheet_of(before, reads=False).lines
    return {
        line.item.key: line.current
        for line in lines
        if line.current is not None and line.current.outcome == Outcome.DONE and not line.is_conflict
    }


def matches(item: ChecklistItem, entry: Entry) -> bool:
    """Whether `entry`, perhaps made on another revision of the list, is an entry of `item`: same key, kind and meaning.

    A figure means the same if it is in the same canonical unit, and was corrected by nobody or by the same rule: one
    that an older list asked for 'corrected to sea level' is no reading of a gauge.
    """
    made_on = entry.item
    if made_on.pk == item.pk:
        return True
    return made_on.key == item.key and means_the_same(item, entry)


def means_the_same(item: ChecklistItem, entry: Entry) -> bool:
    """Whether what `entry` says, perhaps for an item of another name, can be said for `item`."""
    same = _meaning(entry.item) == _meaning(item)
    return same and (item.kind != ItemKind.CHOICE or not entry.choice or entry.choice in item.choices)


def _meaning(item: ChecklistItem) -> tuple[str, str, str]:
    return item.kind, quantity_of(item).canonical, item.correction


def may_confirm(line: Line, person: Staff) -> bool:
    return line.waits_for_second and line.current is not None and line.current.by_id != person.pk
