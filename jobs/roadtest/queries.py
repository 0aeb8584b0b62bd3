"""What the road has shown."""

from collections import Counter

from django.urls import reverse

from garage.record.facts import current, with_people
from jobs.job.models import Job
from jobs.job.progress import StageProgress
from jobs.maps import queries as maps
from jobs.roadtest.actions import IS_NO_FAULT, in_words
from jobs.roadtest.models import RoadNote, RoadRun

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


def last_route() -> str:
    """The route of the workshop's last run: the next car is most likely driven the same way."""
    return RoadRun.objects.order_by("-pk").values_list("route", flat=True).first() or ""


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


def pinked(run: RoadRun) -> list[RoadNote]:
    """The pinking of a run that is more than slight."""
    return [note for note in current_notes(run) if note.is_definite_pinking]


def reason_for_next_version(*driven: RoadRun) -> str:
    """What the next version's reason would say, from the notes of the runs."""
    notes = [note for run in driven for note in current_notes(run)]
    said = Counter(in_words(note) for note in notes if note.kind not in IS_NO_FAULT)
    return "; ".join(words if times == 1 else f"{words} ({times} times)" for words, times in said.items())[:300]


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
        return "See proposal", reverse("proposals:page", args=[job.code])
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
