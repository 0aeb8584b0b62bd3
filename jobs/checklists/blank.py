"""A job's check-list to write on: each item by its number with room for the answer, for a day without a tablet."""

from dataclasses import dataclass
from string import ascii_lowercase
from typing import Any

from django.utils import timezone

from jobs.checklists.measuring import beside_of, units_of
from jobs.checklists.models import ChecklistItem, ItemKind, JobSheet, SheetKind
from jobs.checklists.presentation import moment
from jobs.checklists.queries import sheet, suitable_revisions
from jobs.checklists.sheet import Line, Section, Sheet, lines_of
from jobs.checklists.verdict import limits_in_words
from jobs.job.models import Job


@dataclass(frozen=True, slots=True)
class BlankList:
    """A list as it is printed: the one the job works by or, where none was begun, the one that suits it best."""

    kind: SheetKind
    name: str
    revision: int
    is_begun: bool
    sections: list[dict[str, Any]]


def blank_list(job: Job, kind: SheetKind, altitude_m: float) -> BlankList | None:
    """The job's list of `kind` to write on; None where no list suits it. Only the items that apply to the car."""
    found = sheet(job, kind)
    laid_out = found or _list_to_come(job, kind)
    if laid_out is None:
        return None
    revision = laid_out.record.revision
    return BlankList(
        kind=kind,
        name=revision.template.name,
        revision=revision.number,
        is_begun=found is not None,
        sections=[_section(section, altitude_m) for section in laid_out.sections],
    )


def _list_to_come(job: Job, kind: SheetKind) -> Sheet | None:
    """The list that the job would be begun with, without an entry; nothing of it is saved."""
    suitable = suitable_revisions(job, kind)
    if not suitable:
        return None
    record = JobSheet(job=job, kind=kind, revision=suitable[0][0], begun_at=timezone.now())
    return Sheet(record, lines_of(record, record.revision.items.all(), [], reads=False))


def _section(section: Section, altitude_m: float) -> dict[str, Any]:
    return {"title": section.title, "rows": [_row(line, altitude_m) for line in section.lines]}


def _row(line: Line, altitude_m: float) -> dict[str, Any]:
    item, beside = line.item, beside_of(line.item)
    return {
        "number": item.position,
        "kind": item.kind,
        "text": item.text,
        "because": line.applies.because,
        "help": item.help,
        "caution": item.caution,
        "hold_point": item.hold_point,
        "second_check": item.second_person,
        "optional": not item.required,
        "unit": paper_unit(item),
        "beside": {"label": beside.label, "unit": beside.unit} if beside else None,
        "choices": lettered(item),
        # A choice shows which ways pass by its boxes; a figure by its limits.
        "limits": limits_in_words(item, paper_unit(item), altitude_m),
        "answered": "" if line.is_open or line.at is None else f"{line.said} ({line.by}, {moment(line.at)})",
    }


def paper_unit(item: ChecklistItem) -> str:
    """The unit of the boxes on paper: the list's own, whoever prints the sheet and whoever types it in."""
    return units_of(item)[0] if item.kind == ItemKind.MEASURE else ""


def lettered(item: ChecklistItem) -> list[tuple[str, str]]:
    """The choices of an item with the letters that stand for them: ('a', 'sound'), ('b', 'cracked')."""
    return list(zip(ascii_lowercase, item.choices, strict=False)) if item.kind == ItemKind.CHOICE else []
