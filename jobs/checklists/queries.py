"""How far a job's sheets are, and what stands on them, for the gates, the other rooms and the documents."""

from collections.abc import Callable, Iterable
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import wraps
from typing import Any, ParamSpec

from django.db.models import prefetch_related_objects
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone

from garage.record.models import TrailEntry
from jobs.checklists.applies import Value, applies, facts_of
from jobs.checklists.around import WITH_CAR
from jobs.checklists.counting import number_of
from jobs.checklists.measuring import detail_text, unit_text, value_text
from jobs.checklists.models import (
    ChecklistItem,
    ChecklistTemplate,
    Confirmation,
    Entry,
    JobSheet,
    Photograph,
    SheetKind,
    TemplateRevision,
)
from jobs.checklists.second_look import second_look_in_words
from jobs.checklists.sheet import LAID_OUT_WITH, Line, Section, Sheet, matches, sheet_of
from jobs.checklists.together import together_in_words
from jobs.checklists.verdict import judge, limits_in_words, limits_of
from jobs.job.models import Job
from jobs.job.progress import StageProgress

# The page that shows a sheet of this kind.
PAGE_OF = {SheetKind.FITTING: "fitting:page", SheetKind.INSPECTION: "inspection:sheet"}
NAME_OF = {SheetKind.FITTING: "the fitting sheet", SheetKind.INSPECTION: "the inspection sheet"}

# An entry that was received later than this had waited for the network.
AT_ONCE = timedelta(minutes=1)

# More open items of one section than this are counted, not listed.
LONGEST_LIST = 3


Page = ParamSpec("Page")


def sheet_page(job: Job, kind: str) -> str:
    return reverse(PAGE_OF[SheetKind(kind)], args=[job.code])


# What `progress` reads of a job: who asks for many jobs gathers it for all of them at once.
PREFETCH = ("sheets__revision", *(f"sheets__entries__{name}" for name in LAID_OUT_WITH))


def sheet_record(job: Job, kind: str) -> JobSheet | None:
    return next((record for record in job.sheets.all() if record.kind == kind), None)


@dataclass(frozen=True, slots=True)
class Counts:
    """How many facts there are that a sheet shows. They only ever grow."""

    written_about_job: int  # what its items read changes with it
    entries: int
    confirmations: int
    photographs: int

    @property
    def total(self) -> int:
        return self.written_about_job + self.entries + self.confirmations + self.photographs


@dataclass(slots=True)
class AtHand:
    """What a view that only shows has read already: what was counted before, and the sheets laid out from it."""

    counted: set[int] = field(default_factory=set)  # jobs
    counts: dict[int, Counts] = field(default_factory=dict)  # of their sheets
    sheets: dict[tuple[int, str, bool], Sheet | None] = field(default_factory=dict)


def sheet_to_write(code: str, kind: str) -> JobSheet | None:
    """The sheet that an entry is to be written on, with all of the car and the unit that its rules look at."""
    found = JobSheet.objects.filter(job__code=code, kind=kind).select_related(*WITH_CAR).order_by()
    return next(iter(found), None)  # a job has one of each kind: nothing to put in order


_at_hand: ContextVar[AtHand | None] = ContextVar("_at_hand", default=None)


def sheets_laid_out_once(view: Callable[Page, HttpResponse]) -> Callable[Page, HttpResponse]:
    """A view that only shows: within it each sheet is laid out once, however many rooms read it. It writes nothing."""

    @wraps(view)
    def shown(*args: Page.args, **kwargs: Page.kwargs) -> HttpResponse:
        token = _at_hand.set(AtHand())
        try:
            return view(*args, **kwargs)
        finally:
            _at_hand.reset(token)

    return shown


def sheet(job: Job, kind: str, *, reads: bool = True) -> Sheet | None:
    """The job's sheet of `kind` as it stands, or None where none was begun. `reads` as in `sheet_of`."""
    known = _at_hand.get()
    if known is None:
        return _laid_out(job, kind, reads=reads)
    key = (job.pk, str(kind), reads)
    if key not in known.sheets:
        # Counted before anything is read: what comes in meanwhile is asked for again, and not taken for shown.
        _count_first(known, job)
        # Both sheets and all that is on them, once: they are laid out twice, with readers and for the readers.
        prefetch_related_objects([job], *PREFETCH)
        known.sheets[key] = _laid_out(job, kind, reads=reads)
    return known.sheets[key]


def _laid_out(job: Job, kind: str, *, reads: bool) -> Sheet | None:
    record = sheet_record(job, kind)
    if record is None:
        return None
    record.job = job  # spares asking again for the car
    return sheet_of(record, reads=reads)


def counts_of(record: JobSheet) -> Counts:
    """How many facts there are of that sheet; within a view that only shows, as they were when it began to read."""
    known = _at_hand.get()
    if known is None:
        return _counted(record.job)[record.pk]
    _count_first(known, record.job)
    return known.counts[record.pk]


def _count_first(known: AtHand, job: Job) -> None:
    if job.pk not in known.counted:
        known.counted.add(job.pk)
        known.counts |= _counted(job)


def _counted(job: Job) -> dict[int, Counts]:
    """The counts of each sheet of the job, in one question of indexed counts, however many tablets ask."""
    return {
        pk: Counts(*numbers)
        for pk, *numbers in JobSheet.objects.filter(job=job)
        .annotate(
            written=number_of(TrailEntry, "job_id", of="job_id"),
            entered=number_of(Entry, "sheet"),
            confirmed=number_of(Confirmation, "entry__sheet"),
            photographed=number_of(Photograph, "entry__sheet"),
        )
        .values_list("pk", "written", "entered", "confirmed", "photographed")
    }


def sheet_progress(job: Job, kind: str) -> StageProgress:
    """How far the job's sheet of `kind` is: everything wanted on it, in words."""
    found, name = sheet(job, kind), NAME_OF[SheetKind(kind)]
    if found is None:
        return StageProgress(missing=[name], next_label=f"Start {name}", next_url=sheet_page(job, kind))
    missing = [words for section in found.sections for words in _missing_of(section)]
    following = found.next_open if missing else None
    return StageProgress(
        missing=missing,
        done=found.done,
        total=found.total,
        next_label=f"Continue {name}" if missing else "",
        next_url=(sheet_page(job, kind) + (f"#item-{following.item.key}" if following else "")) if missing else "",
    )


def _missing_of(section: Section) -> list[str]:
    """Hold points and disagreements one by one; of the rest, no more than can be read at a glance."""
    wanting = [line for line in section.lines if line.still_wanted]
    plain = [line for line in wanting if _is_plain(line)]
    if len(plain) <= LONGEST_LIST:
        return [line.still_wanted for line in wanting]
    listed = [line.still_wanted for line in wanting if not _is_plain(line)]
    return [*listed, f"{section.title}: {len(plain)} items"]


def _is_plain(line: Line) -> bool:
    return line.is_open and not line.item.hold_point


def suitable_revisions(job: Job, kind: str) -> list[tuple[TemplateRevision, bool]]:
    """The newest published revision of each list of `kind`, and whether it is made for this car and job.

    Those that are come first, before all that of the kind of job; those made for another car or kind come last.
    """
    facts = facts_of(job)
    found = []
    for template in ChecklistTemplate.objects.filter(kind=kind, retired=False):
        revision = template.revisions.exclude(published_at=None).first()
        if revision:
            fit = applies(template.suits, facts)
            suits = bool(template.suits) and fit.holds and not fit.unknown
            rank = (0 if suits else 1 if fit.holds else 2, "job_kind" not in template.suits, template.name)
            found.append((rank, revision, suits))
    return [(revision, suits) for _, revision, suits in sorted(found, key=lambda row: row[0])]


def only_list_for(job: Job, kind: str) -> TemplateRevision | None:
    """The list to begin with where there is nothing to choose: the one that fits, or the one made for the kind of job.

    None where several fit, or the sheet was begun.
    """
    if sheet_record(job, kind) is not None:
        return None
    facts = facts_of(job)
    fitting = [one for one, _ in suitable_revisions(job, kind) if applies(one.template.suits, facts).holds]
    made_for = [one for one in fitting if "job_kind" in one.template.suits]
    chosen = fitting if len(fitting) == 1 else made_for
    return chosen[0] if len(chosen) == 1 else None


def other_lists(record: JobSheet) -> list[tuple[TemplateRevision, bool]]:
    """The lists that a sheet may still be changed to: as long as nothing was entered on it."""
    if record.entries.exists():
        return []
    found = suitable_revisions(record.job, record.kind)
    return [(revision, suits) for revision, suits in found if revision.template_id != record.revision.template_id]


def newer_revision(record: JobSheet) -> TemplateRevision | None:
    """The newest published revision of the sheet's list, if the job still works by an older one."""
    newest = record.revision.template.revisions.exclude(published_at=None).first()
    return newest if newest and newest.number > record.revision.number else None


def entered_value(job: Job, kind: str, key: str) -> Value | float | None:
    """What stands for the item `key`: a figure in its canonical unit, as it was read; a choice, words, True for a tick;
    None while it is open."""
    return entered_values(job, kind, [key])[key]


def entered_values(job: Job, kind: str, keys: Iterable[str]) -> dict[str, Value | float | None]:
    """As `entered_value` for each of `keys`, with the sheet laid out once."""
    found = sheet(job, kind, reads=False)
    return {key: _value_of(found.line(key) if found else None) for key in keys}


def _value_of(line: Line | None) -> Value | float | None:
    if line is None or line.current is None or line.is_open or line.is_conflict:
        return None
    entry = line.current
    return entry.measure if entry.measure is not None else entry.choice or entry.text or True


@dataclass(frozen=True, slots=True)
class Answered:
    """What stands for one item, and who entered it when."""

    value: Value | float
    by: str
    made_at: datetime
    note: str = ""


def answered(job: Job, kind: str, keys: Iterable[str]) -> dict[str, Answered]:
    """As `entered_values`, with whose word each is; without the items that are open."""
    found = sheet(job, kind, reads=False)
    answers = {}
    for key in keys:
        line = found.line(key) if found else None
        value = _value_of(line)
        if line is not None and line.current is not None and value is not None:
            answers[key] = Answered(value, str(line.current.by), line.current.made_at, line.current.note)
    return answers


def bench_record_rows(job: Job) -> list[dict[str, Any]]:
    """Both sheets as plain data for the bench record, section by section: nothing in it needs the database any more.

    A sheet is {"kind", "template", "revision", "done", "total", "devices", "sections": [{"title", "rows"}]}; a row has
    "number", "text", "value", "unit", "detail" (what was read beside the figure, and what it comes to), "limits",
    "verdict", "mark", "by", "person", "made_at" and "received_at" (ISO 8601), "waited" (for the network), "device",
    "note", "second", "hold_point", "source", "photographs" (a count) and "earlier": what was corrected, as sentences.
    """
    sheets = []
    for kind in (SheetKind.INSPECTION, SheetKind.FITTING):
        found = sheet(job, kind)
        if found is None:
            continue
        sections: list[dict[str, Any]] = [
            {"title": section.title, "rows": [_record_row(line) for line in section.lines]}
            for section in found.sections
        ]
        sheets.append(
            {
                "kind": kind.label,
                "template": found.record.revision.template.name,
                "revision": found.record.revision.number,
                "done": found.done,
                "total": found.total,
                "devices": sorted({row["device"] for section in sections for row in section["rows"]} - {""}),
                "sections": sections,
            }
        )
    return sheets


def _record_row(line: Line) -> dict[str, Any]:
    entry, item = line.current, line.item
    standing = set(line.standing)
    return {
        "key": item.key,
        "number": item.position,
        "text": item.text,
        "value": _record_value(line),
        "unit": unit_text(item, entry),
        "detail": detail_text(item, entry) if entry else "",
        "limits": limits_of(item, entry) if entry else limits_in_words(item),
        "verdict": line.verdict.words,
        "mark": line.verdict.mark,
        "by": f"{line.by}{together_in_words(entry)}" if entry and not line.is_read else line.by,
        "person": line.by,
        "device": str(entry.device or "") if entry else "",
        "made_at": timezone.localtime(line.at).isoformat() if line.at else "",
        "received_at": timezone.localtime(entry.received_at).isoformat() if entry else "",
        "waited": entry is not None and entry.received_at - entry.made_at > AT_ONCE,
        "note": entry.note if entry else "",
        "second": f"{line.second.by}{second_look_in_words(line.second)}" if line.second else "",
        "hold_point": item.hold_point,
        "source": item.source,
        "photographs": len(line.photographs),
        "earlier": [
            f"{value_text(item, old)} {unit_text(item, old) if old.measure is not None else ''}".strip()
            + f" {judge(item, old).words}, {old.by}, {timezone.localtime(old.made_at):%d %b %Y %H:%M}"
            for old in line.history
            if old not in standing
        ],
    }


def _record_value(line: Line) -> str:
    if line.found is not None and line.found.is_done:
        return line.found.text
    return value_text(line.item, line.current) if line.current else ""


@dataclass(frozen=True, slots=True)
class ChangeOfList:
    """What moving a sheet to another revision does to what was entered on it."""

    kept: list[ChecklistItem]
    lost: list[ChecklistItem]
    new: list[ChecklistItem]
    limits: list[ChecklistItem]


def change_to(record: JobSheet, revision: TemplateRevision) -> ChangeOfList:
    """What changes for `record` if it goes on by `revision`."""
    entries = list(record.entries.select_related("item"))
    before = {item.key: item for item in record.revision.items.all()}
    after = {item.key: item for item in revision.items.all()}
    kept = [
        item for item in after.values() if any(matches(item, entry) for entry in entries if entry.item.key == item.key)
    ]
    kept_keys = {item.key for item in kept}
    entered_keys = {entry.item.key for entry in entries}
    return ChangeOfList(
        kept=kept,
        lost=[item for key, item in before.items() if key in entered_keys and key not in kept_keys],
        new=[item for key, item in after.items() if key not in before],
        limits=[
            item
            for item in kept
            if item.key in before and (item.low, item.high) != (before[item.key].low, before[item.key].high)
        ],
    )
