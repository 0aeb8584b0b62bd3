"""A job's sheet as it stands now: worked out from the list, the car and the entries, each time anew."""

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cached_property

from django.db.models import prefetch_related_objects

from garage.people.models import Staff
from jobs.checklists.applies import Applies, applies, facts_of
from jobs.checklists.measuring import quantity_of
from jobs.checklists.models import ChecklistItem, Confirmation, Entry, ItemKind, JobSheet, Outcome, Photograph
from jobs.checklists.verdict import NOTHING_YET, Verdict, judge, said

# An entry that takes another back, or only notes something, leaves its item open.
LEAVES_OPEN = {Outcome.WITHDRAWN, Outcome.NOTED}


@dataclass
class Line:
    """One item of the sheet with all that was entered for it."""

    item: ChecklistItem
    applies: Applies
    history: list[Entry]  # all of it, in the order in which it came in
    hold: "Line | None" = None  # the hold point before this line that is not met

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
        return len(said) > 1

    @property
    def is_open(self) -> bool:
        return self.current is None or self.current.outcome in LEAVES_OPEN

    @property
    def verdict(self) -> Verdict:
        if self.current is None:
            return NOTHING_YET
        if self.is_conflict:
            return Verdict("stop", f"{len(self.standing)} different entries: keep one", holds=False)
        return judge(self.item, self.current)

    @property
    def second(self) -> Confirmation | None:
        """The second person's word on what stands now."""
        return next((seconded for entry in self.standing if (seconded := _confirmation(entry))), None)

    @property
    def waits_for_second(self) -> bool:
        return self.item.second_person and not self.is_open and not self.is_conflict and self.second is None

    @property
    def is_done(self) -> bool:
        """Dealt with: entered, agreed upon and, where the item wants it, seen by a second person."""
        return not (self.is_open or self.is_conflict or self.waits_for_second)

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
        if self.item.hold_point and not self.is_open and not self.waits_for_second and not self.holds:
            return f"{self.item.text}: {said(self.item, self.current) if self.current else self.verdict.words}"
        if self.waits_for_second:
            return f"{self.item.text}: second check needed"
        if self.is_open and (self.item.required or self.item.hold_point):
            return self.item.text
        return ""


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
        """The first line that waits for somebody, leaving out those behind a hold point that is not met."""
        return next((line for line in self.lines if not line.is_done and line.hold is None), None)

    @property
    def unmet_hold(self) -> Line | None:
        return next((line for line in self.lines if line.item.hold_point and not line.holds), None)


# What is read of every entry.
LAID_OUT_WITH = ("by", "device", "item", "confirmation__by", "photographs")


def sheet_of(record: JobSheet) -> Sheet:
    """`record` worked out. A few questions to the database, however long the list is."""
    facts = facts_of(record.job)
    history: dict[str, list[Entry]] = defaultdict(list)
    entries = list(record.entries.all())
    prefetch_related_objects(entries, *LAID_OUT_WITH)
    for entry in entries:
        history[entry.item.key].append(entry)
    lines = []
    hold: Line | None = None
    for item in record.revision.items.all():
        matching = [entry for entry in history[item.key] if matches(item, entry)]
        line = Line(item, applies(item.applies, facts), matching, hold)
        # What was entered is shown, even if by now the car is known to need no such item.
        if not line.applies.holds and line.is_open:
            continue
        lines.append(line)
        if item.hold_point and hold is None and not line.holds:
            hold = line
    return Sheet(record, lines)


def matches(item: ChecklistItem, entry: Entry) -> bool:
    """Whether `entry`, perhaps made on another revision of the list, is an entry of `item`: same key, kind and meaning.

    A figure means the same if it is in the same canonical unit, and was corrected by nobody or by the same rule: one
    that an older list asked for 'corrected to sea level' is no reading of a gauge.
    """
    made_on = entry.item
    if made_on.pk == item.pk:
        return True
    same = _meaning(made_on) == _meaning(item)
    return same and (item.kind != ItemKind.CHOICE or not entry.choice or entry.choice in item.choices)


def _meaning(item: ChecklistItem) -> tuple[str, str, str, str]:
    return item.key, item.kind, quantity_of(item).canonical, item.correction


def may_confirm(line: Line, person: Staff) -> bool:
    return line.waits_for_second and line.current is not None and line.current.by_id != person.pk
