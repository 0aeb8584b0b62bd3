"""Blank sheets for one job: what is looked at, fitted, read and noted, on paper, for the day when no tablet works."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.db import models
from django.template.loader import render_to_string

from garage.papers.setting import set_paper
from garage.people.queries import get_workshop
from garage.quantities.words import advance, plain
from jobs.checklists.blank import blank_list
from jobs.checklists.models import SheetKind
from jobs.job.cautions import CAUTIONS_OF
from jobs.job.models import Job, Stage
from jobs.maps import queries as maps
from jobs.maps.models import MapVersion
from jobs.roadtest.from_paper import LINES_ON_PAPER
from jobs.roadtest.models import BeforeLeaving, Load, NoteKind, Severity
from jobs.strobe import queries as strobe

BASE_READINGS, MAP_READINGS, SWEEP_READINGS = 7, 12, 14
MOST_CYLINDERS = 12  # where nobody has counted them yet


class BlankSheet(models.TextChoices):
    INSPECTION = "inspection", "inspection"
    FITTING = "fitting", "fitting"
    STROBE = "strobe", "strobe readings"
    ROAD = "road", "road notes"


# The stages that each sheet serves: a job without any of them has no use for it.
SERVES = {
    BlankSheet.INSPECTION: {Stage.INSPECTION},
    BlankSheet.FITTING: {Stage.FITTING},
    BlankSheet.STROBE: {Stage.BASE_TIMING, Stage.MAP, Stage.HANDOVER},
    BlankSheet.ROAD: {Stage.ROAD_TEST},
}


def sheets_for(job: Job) -> list[BlankSheet]:
    """The sheets that the kind of job has a use for, in the order of its stages."""
    return [blank for blank in BlankSheet if SERVES[blank] & set(job.stages)]


class BlankSheetsForm(forms.Form):
    """Which of the sheets to print."""

    sheets = forms.MultipleChoiceField(label="Print", widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [(blank.value, blank.label) for blank in sheets_for(job)]
        self.fields["sheets"].choices = offered  # type: ignore[attr-defined]
        self.fields["sheets"].initial = [value for value, _ in offered]


@dataclass(frozen=True, slots=True)
class Column:
    """What is written in a column, and the class that gives it a width of its own."""

    heading: str
    wide: str = ""


@dataclass(frozen=True, slots=True)
class PenTable:
    """Numbered lines to write in; of each row, what is known beforehand."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str]]


def _to_write(first: str, *columns: Column | str, known: Iterable[Sequence[str]]) -> PenTable:
    """A table whose `first` column numbers the lines; what is `known` of each begins behind the number."""
    all_columns = [Column(first, "no"), *(Column(one) if isinstance(one, str) else one for one in columns)]
    rows = [[str(number), *beside] for number, beside in enumerate(known, start=1)]
    return PenTable(all_columns, [row + [""] * (len(all_columns) - len(row)) for row in rows])


def set_blank_sheets(job: Job, chosen: Sequence[str], at: datetime) -> bytes:
    """The sheets `chosen` of the job, one after the other in one PDF.

    Raises
    ------
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set documents.
    garage.papers.press.PaperNotSetError
        If it took too long, or its worker ended.
    """
    workshop = get_workshop()
    context: dict[str, Any] = {"job": job, "car": job.vehicle, "workshop": workshop, "at": at, "lists": []}
    for blank, kind in ((BlankSheet.INSPECTION, SheetKind.INSPECTION), (BlankSheet.FITTING, SheetKind.FITTING)):
        if blank in chosen and (found := blank_list(job, kind, workshop.altitude_m)) is not None:
            context["lists"].append({"list": found, "cautions": _cautions(SERVES[blank])})
    if BlankSheet.INSPECTION in chosen:
        context["as_found"] = _as_found(job)
    if BlankSheet.STROBE in chosen:
        context["strobe"] = _strobe(job, workshop.strobe_tolerance_deg)
    if BlankSheet.ROAD in chosen:
        context["road"] = _road(job)
    html = render_to_string("jobs/documents/sheets/blank_sheets.html", context)
    return set_paper(html, css=["blank.css"], created=at)


def _cautions(served: set[Stage]) -> list[dict[str, str]]:
    """The cautions of those stages, each once and whole: paper is read by whoever holds it."""
    texts = {caution.title: caution.text for stage in Stage if stage in served for caution in CAUTIONS_OF[stage]}
    return [{"title": title, "text": text} for title, text in texts.items()]


def _as_found(job: Job) -> dict[str, Any]:
    cylinders = job.vehicle.engine.cylinders or MOST_CYLINDERS
    return {
        "sweep": _to_write("line", "rpm", "strobe, ° BTDC", "revs: up or down", known=[()] * SWEEP_READINGS),
        "compression": _to_write("cyl.", "gauge", known=[()] * cylinders),
    }


def _strobe(job: Job, tolerance_deg: float) -> dict[str, Any]:
    version = maps.version_in_car(job) or maps.released_versions(job).last()
    must_show = _must_show(version)
    empty = max(MAP_READINGS - len(must_show), 4)
    return {
        "cautions": _cautions({Stage.BASE_TIMING}),
        "base_deg": strobe.suggested_base_deg(job),
        "tolerance_deg": tolerance_deg,
        "base": _to_write("line", "rpm", "strobe, ° BTDC", "note", known=[()] * BASE_READINGS),
        "map_version": version,
        "map": _to_write(
            "line", "rpm", "must show, pipe off", "strobe, ° BTDC", "vacuum, if on", "note",
            known=[*must_show, *[()] * empty],
        ),
    }  # fmt: skip


def _must_show(version: MapVersion | None) -> list[tuple[str, str]]:
    """Each speed of the map's curve with what the strobe must show there, pipe off."""
    if version is None:
        return []
    delivered = version.delivered_map()
    speeds = [float(rpm) for rpm in version.ignition_map().curve.rpm if rpm]
    return [(plain(rpm), advance(float(delivered.total(rpm=rpm, vacuum=0.0)), 1)) for rpm in speeds]


def _road(job: Job) -> dict[str, Any]:
    return {
        "cautions": _cautions(SERVES[BlankSheet.ROAD]),
        "version": maps.version_in_car(job),
        "before_leaving": BeforeLeaving.labels,
        "kinds": NoteKind.labels,
        "severities": [(severity.value, severity.label) for severity in Severity if severity != Severity.NOT_SAID],
        "loads": Load.labels,
        "notes": _to_write(
            "no.", Column("what", "what"), "strong", "rpm", "vacuum and unit", "gear", "throttle",
            Column("in words", "what"), known=[()] * LINES_ON_PAPER,
        ),
    }  # fmt: skip
