"""What stands on the two sheets of a job, each laid out once however much is asked of it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from jobs.checklists import queries as checklists
from jobs.checklists.measuring import Reading, detail_text, reading_of, unit_text, value_text
from jobs.checklists.models import ItemKind, Outcome, SheetKind
from jobs.checklists.sheet import Line, Sheet
from jobs.job.models import Job

FITTING, INSPECTION = SheetKind.FITTING, SheetKind.INSPECTION


@dataclass(frozen=True, slots=True)
class SheetAnswer:
    """What stands for one item of a sheet, and who entered it when.

    `text` is the answer as it was entered, `detail` what was read beside it and what it comes to. `passes` says whether
    it is within the item's limits or was overridden, `is_done` whether what the item asks was really done.
    """

    kind: SheetKind
    key: str
    text: str
    detail: str
    reading: Reading | None
    choice: str
    passes: bool
    is_done: bool
    by: str
    made_at: datetime


class SheetAnswers:
    """The answers on a job's fitting and inspection sheet."""

    def __init__(self, job: Job) -> None:
        self.job = job

    @cached_property
    def _sheets(self) -> dict[SheetKind, Sheet | None]:
        # Only what was entered: readers of the sheet ask for these answers themselves.
        return {kind: checklists.sheet(self.job, kind, reads=False) for kind in (FITTING, INSPECTION)}

    def answer(self, kind: SheetKind, key: str) -> SheetAnswer | None:
        """What stands for the item `key`; None while it is open, or two people disagree."""
        return next(self._answers(kind, [line for line in self._lines(kind) if line.item.key == key]), None)

    def volts(self, kind: SheetKind, key: str) -> SheetAnswer | None:
        """The first voltage whose item is called `key` and a hyphen: lists ask for it by the car's system voltage."""
        lines = [
            line for line in self._lines(kind) if line.item.key.startswith(f"{key}-") and line.item.unit in ("V", "mV")
        ]
        return next((found for found in self._answers(kind, lines) if found.reading is not None), None)

    def place(self, kind: SheetKind, key: str) -> str:
        """The address of the item `key`, or of its sheet where the list has no such item or is not begun.

        A list may ask for it by the car's system voltage: then the first measure of that name.
        """
        page = checklists.sheet_page(self.job, kind)
        items = [line.item for line in self._lines(kind)]
        exact = [item.key for item in items if item.key == key]
        by_volts = [item.key for item in items if item.key.startswith(f"{key}-") and item.kind == ItemKind.MEASURE]
        found = [*exact, *by_volts]
        return f"{page}#item-{found[0]}" if found else page

    def _lines(self, kind: SheetKind) -> list[Line]:
        found = self._sheets[kind]
        return found.lines if found else []

    @staticmethod
    def _answers(kind: SheetKind, lines: list[Line]) -> Iterator[SheetAnswer]:
        for line in lines:
            entry = line.current
            if entry is None or line.is_open or line.is_conflict:
                continue
            read = entry.measure is not None
            value, unit = value_text(line.item, entry), unit_text(line.item, entry)
            yield SheetAnswer(
                kind=kind,
                key=line.item.key,
                text=f"{value}{'' if unit.startswith('°') else ' '}{unit}".strip() if read else value,
                detail=detail_text(line.item, entry) if read else "",
                # By the item of its own revision: that says what the figure means.
                reading=reading_of(entry.item, entry),
                choice=entry.choice,
                passes=line.verdict.holds,
                is_done=entry.outcome == Outcome.DONE,
                by=str(entry.by),
                made_at=entry.made_at,
            )
