"""What the road has shown, and the retard it speaks for."""

from dataclasses import dataclass
from typing import TypeAlias

from django.db.models import Q
from django.urls import reverse

from garage.record.facts import current, with_people
from jobs.job.models import Job
from jobs.job.progress import StageProgress
from jobs.maps import queries as maps
from jobs.maps.models import MapVersion
from jobs.roadtest.actions import in_words
from jobs.roadtest.models import NoteKind, RoadNote, RoadRun
from timing.review import PinkingNote
from timing.roadlog import Grid, proposed_retard, spread_notes

# The cells on which notes are gathered where no log was taken: coarse enough that a passenger's ear can place them.
RPM_NODES = [float(rpm) for rpm in range(500, 7001, 500)]
VACUUM_NODES = [0.0, 20.0, 40.0, 60.0]
GRID = Grid(rpm=RPM_NODES, vacuum=VACUUM_NODES)
Cell: TypeAlias = tuple[float, float]


# What `progress` reads of a job: who asks for many jobs gathers it for all of them at once.
PREFETCH = ("road_runs__notes__by", *maps.PREFETCH)


def current_notes(run: RoadRun) -> list[RoadNote]:
    """The notes that stand, in the order of their moments."""
    return sorted(with_people(current(run.notes.all())), key=lambda note: note.at)


def runs(job: Job) -> list[RoadRun]:
    return list(job.road_runs.select_related("driver", "writer", "map_version").order_by("begun_at", "pk"))


def last_run(job: Job) -> RoadRun | None:
    runs = list(job.road_runs.all())
    return runs[-1] if runs else None


def notes_at(job: Job) -> list[dict[str, object]]:
    """The notes of the last run that have a place on the map: for the bench to point at."""
    run = last_run(job)
    if run is None:
        return []
    return [
        {
            "rpm": note.rpm,
            "vacuum_kpa": note.vacuum_kpa,
            "kind": note.kind,
            "severity": note.severity,
            "words": in_words(note),
        }
        for note in current_notes(run)
        if note.rpm is not None
    ]


@dataclass(frozen=True, slots=True)
class RetardCell:
    """A cell in which the notes speak for less advance."""

    rpm: float
    vacuum_kpa: float
    score: float
    retard_deg: float


def proposal(run: RoadRun) -> list[RetardCell]:
    """How much less advance the pinking of a run speaks for, cell by cell. A person decides what of it is done."""
    pinking = [note for note in current_notes(run) if note.kind == NoteKind.PINKING and note.rpm is not None]
    if not pinking:
        return []
    # Heard without a vacuum gauge: pinking belongs to full load, unless said otherwise. Boost counts as full load.
    vacuum = [max(0.0, note.vacuum_kpa or 0.0) for note in pinking]
    scores = spread_notes(
        GRID,
        rpm=[note.rpm or 0.0 for note in pinking],
        vacuum=vacuum,
        severity=[note.severity for note in pinking],
    )
    retard = proposed_retard(scores)
    return [
        RetardCell(rpm, kpa, float(scores[row][column]), float(retard[row][column]))  # type: ignore[index]
        for column, rpm in enumerate(RPM_NODES)
        for row, kpa in enumerate(VACUUM_NODES)
        if float(retard[row][column]) > 0  # type: ignore[index]
    ]


def pinking_noted(version: MapVersion) -> list[PinkingNote]:
    """Where this car pinked with `version` or an earlier one, the spark it had there, and the retard suggested.

    Earlier jobs of the car count as well. Of several notes in one cell that with the least advance is kept: what pinked
    with less pinks with more.
    """
    job = version.job
    earlier = RoadRun.objects.filter(
        Q(job=job, map_version__number__lte=version.number)
        | Q(job__vehicle=job.vehicle_id, job__made_at__lt=job.made_at)
    )
    found: dict[Cell, PinkingNote] = {}
    for run in earlier.select_related("map_version").prefetch_related("notes__by").order_by("begun_at", "pk"):
        if not run.map_version.is_sound():
            continue
        given, suggested = run.map_version.delivered_map(), {(at.rpm, at.vacuum_kpa): at for at in proposal(run)}
        for note in current_notes(run):
            if note.kind != NoteKind.PINKING or not note.rpm:
                continue
            vacuum = note.vacuum_kpa or 0.0
            cell = _cell(note.rpm, vacuum)
            retard = suggested[cell].retard_deg if cell in suggested else None
            noted = PinkingNote(note.rpm, vacuum, float(given.total(rpm=note.rpm, vacuum=vacuum)), retard)
            if cell not in found or noted.advance_deg < found[cell].advance_deg:
                found[cell] = noted
    return list(found.values())


def _cell(rpm: float, vacuum_kpa: float) -> Cell:
    """The cell of the road notes in which a place lies; boost counts as full load."""
    row, column = GRID.cells(rpm=rpm, vacuum=max(0.0, vacuum_kpa))
    return RPM_NODES[int(column)], VACUUM_NODES[int(row)]


def pinked(run: RoadRun) -> list[RoadNote]:
    """The pinking of a run that is more than a trace."""
    return [note for note in current_notes(run) if note.is_definite_pinking]


def reason_for_next_version(run: RoadRun) -> str:
    """What the next version's reason would say, from the notes of the run."""
    speak = [note for note in current_notes(run) if note.kind not in {NoteKind.FINE, NoteKind.MARK}]
    return "; ".join(in_words(note) for note in speak)[:300]


def progress(job: Job) -> StageProgress:
    """A car leaves the road test after a run with the version it goes home with, and without clear pinking."""
    run, now = last_run(job), maps.version_in_car(job)
    missing = []
    if run is None:
        missing.append("a road test")
    else:
        if run.ended_at is None:
            missing.append("the end of the current run")
        if now is None:
            missing.append("a map in the car, read back")
        elif run.map_version_id != now.pk:
            missing.append(f"a road test with {now}, now in the car")
        elif pinked(run):
            missing.append("a run without definite pinking")
    label, url = _next_step(job, run, now.pk if now else None) if missing else ("", "")
    return StageProgress(missing=missing, done=0 if missing else 1, total=1, next_label=label, next_url=url)


def _next_step(job: Job, run: RoadRun | None, in_car: int | None) -> tuple[str, str]:
    if run is not None and run.ended_at is None:
        return "Continue run", reverse("roadtest:run", args=[job.code, run.pk])
    if run is not None and run.map_version_id == in_car and pinked(run):
        return "Correct map", reverse("maps:page", args=[job.code])
    return "Start road test", f"{reverse('roadtest:page', args=[job.code])}#begin"


def facts_for_sheet(job: Job) -> list[dict[str, object]]:
    """Each run as plain data for the documents."""
    return [
        {
            "begun_at": run.begun_at.isoformat(),
            "ended_at": run.ended_at.isoformat() if run.ended_at else None,
            "map_number": run.map_version.number,
            "route": run.route,
            "driver": str(run.driver),
            "writer": str(run.writer or ""),
            "fuel_ron": run.fuel_ron,
            "looked_at": run.looked_at_words,
            "summary": run.summary,
            "notes": [in_words(note) for note in current_notes(run)],
        }
        for run in runs(job)
    ]
