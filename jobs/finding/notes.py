"""What was written about a job: lines of its journal, and words on its sheets, maps, drives and signatures."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import models
from django.urls import reverse

from garage.finding.index import Hit
from garage.record.models import TrailEntry
from jobs.checklists.models import Confirmation, Entry, SheetKind
from jobs.handover.models import SignOff
from jobs.inspection.models import InspectionVerdict
from jobs.job.models import Job
from jobs.maps.models import MapVersion
from jobs.roadtest.models import RoadNote, RoadRun


@dataclass(frozen=True, slots=True)
class Note:
    """Words about a job: what of it they are on, when they were written, and where they stand."""

    job: Job
    of: str
    words: str
    at: datetime
    url: str

    @property
    def title(self) -> str:
        return f"{self.job.code}: {self.of}"


@dataclass(frozen=True, slots=True)
class Kind:
    """How rows of one model are read: the way to their job, what they are called, what they say, when, and where."""

    model: type[models.Model]
    job: str
    of: Callable[[Any], str]
    words: Callable[[Any], str]
    at: Callable[[Any], datetime]
    page: Callable[[Any], str]


def _sheet(row: Entry) -> str:
    return "inspection:page" if row.sheet.kind == SheetKind.INSPECTION else "fitting:page"


def _joined(*parts: str) -> str:
    return " · ".join(part for part in parts if part)


# By the names that the migrations gave them in the index. A line of a journal knows its job by the key alone.
KINDS = {
    "entry": Kind(
        Entry, "sheet__job", lambda row: row.item.text, lambda row: _joined(row.text, row.note),
        lambda row: row.made_at, _sheet,
    ),
    "confirmation": Kind(
        Confirmation, "entry__sheet__job", lambda row: row.entry.item.text, lambda row: row.text,
        lambda row: row.made_at, lambda row: _sheet(row.entry),
    ),
    "inspectionverdict": Kind(
        InspectionVerdict, "job", lambda row: "Inspection", lambda row: _joined(row.remarks, row.customer_told),
        lambda row: row.made_at, lambda row: "inspection:page",
    ),
    "mapversion": Kind(
        MapVersion, "job", lambda row: f"Map version {row.number}", lambda row: row.reason,
        lambda row: row.made_at, lambda row: "maps:page",
    ),
    "roadrun": Kind(
        RoadRun, "job", lambda row: "Road test", lambda row: _joined(row.route, row.summary),
        lambda row: row.begun_at, lambda row: "roadtest:page",
    ),
    "roadnote": Kind(
        RoadNote, "run__job", lambda row: "Road test", lambda row: row.words,
        lambda row: row.made_at, lambda row: "roadtest:page",
    ),
    "signoff": Kind(
        SignOff, "job", lambda row: "Second check", lambda row: row.remarks,
        lambda row: row.made_at, lambda row: "handover:page",
    ),
}  # fmt: skip
WITH = {"entry": ["item"], "confirmation": ["entry__item"]}
JOURNAL = "trailentry"


def notes_of(hits: list[Hit], *, most: int) -> list[Note]:
    """The notes of `hits` in their order; the journal repeats much of what stands elsewhere, and that is left out."""
    found = _journal([thing for kind, thing in hits if kind == JOURNAL])
    for name, kind in KINDS.items():
        keys = [thing for of_kind, thing in hits if of_kind == name]
        found |= _of_kind(name, kind, keys) if keys else {}
    notes: list[Note] = []
    for hit in hits:
        note = found.get(hit)
        if note and not any(known.job == note.job and known.words in note.words for known in notes):
            notes.append(note)
    return notes[:most]


def _of_kind(name: str, kind: Kind, keys: list[str]) -> dict[Hit, Note]:
    rows = kind.model._base_manager.select_related(f"{kind.job}__vehicle__customer", *WITH.get(name, []))
    is_fact = isinstance(kind.model._meta.pk, models.UUIDField)
    by_key = {str(UUID(key) if is_fact else int(key)): key for key in keys}
    found = {}
    for row in rows.filter(pk__in=by_key):
        job: Any = row
        for step in kind.job.split("__"):
            job = getattr(job, step)
        url = reverse(kind.page(row), args=[job.code])
        found[(name, by_key[str(row.pk)])] = Note(job, kind.of(row), kind.words(row), kind.at(row), url)
    return found


def _journal(keys: list[str]) -> dict[Hit, Note]:
    if not keys:
        return {}
    lines = TrailEntry.objects.in_bulk([int(key) for key in keys])
    jobs = Job.objects.with_car().in_bulk({line.job_id for line in lines.values() if line.job_id})
    return {
        (JOURNAL, str(pk)): Note(
            jobs[line.job_id], "Journal", line.text, line.at, reverse("board:journal", args=[jobs[line.job_id].code])
        )
        for pk, line in lines.items()
        if line.job_id in jobs
    }
