"""Recording a road test."""

from uuid import UUID

from django.db import transaction

from garage.people.models import Staff
from garage.quantities.words import plain, pressure
from garage.record.actor import Actor
from garage.record.append import append, withdraw
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.refusals import RuleRefusedError
from jobs.job import journal
from jobs.job.models import Job
from jobs.roadtest.models import NoteKind, RoadNote, RoadRun, Severity


class RunOverError(RuleRefusedError):
    """The run has ended: what was noticed later belongs to the journal or to a new run."""


@transaction.atomic
def begin_run(
    *,
    job: Job,
    version_id: int,
    version_words: str,
    route: str,
    driver: Staff,
    writer: Staff | None,
    idempotency_key: UUID,
    actor: Actor,
    fuel_ron: float | None = None,
    air_temperature_c: float | None = None,
) -> RoadRun:
    """Set off with a map version in the car. Without a `writer` the driver is alone, and writes at the halt."""
    typed = {
        "job": job,
        "route": route,
        "driver": driver,
        "writer": writer,
        "fuel_ron": fuel_ron,
        "air_temperature_c": air_temperature_c,
    }
    run, is_new = RoadRun.objects.get_or_create(
        idempotency_key=idempotency_key, defaults={**typed, "map_version_id": version_id, "begun_at": actor.at}
    )
    if not is_new:
        refuse_unless_same(run, typed)
    else:
        sentence = f"Road test started with {version_words}: {route}; {run.crew[:1].lower()}{run.crew[1:]}"
        journal.write(job, Event.RUN_BEGUN, sentence, actor=actor, version=version_id)
    return run


@transaction.atomic
def take_note(
    *,
    run: RoadRun,
    id: UUID,
    kind: str,
    severity: int,
    actor: Actor,
    rpm: float | None = None,
    vacuum_kpa: float | None = None,
    vacuum_unit: str = "",
    words: str = "",
) -> RoadNote:
    """Note what was heard or felt. One tap is enough; speed and vacuum place it on the map."""
    if run.ended_at is not None and not RoadNote.objects.filter(pk=id).exists():
        raise RunOverError("This run has ended. Start a new run or add a journal note.")
    note, is_new = append(
        RoadNote,
        id=id,
        actor=actor,
        run=run,
        kind=kind,
        severity=severity,
        rpm=rpm,
        vacuum_kpa=vacuum_kpa,
        vacuum_unit=vacuum_unit if vacuum_kpa is not None else "",
        words=words,
    )
    if is_new:
        journal.write(
            run.job, Event.ROAD_NOTE, f"On the road: {in_words(note)}", actor=actor, rpm=rpm, severity=severity
        )
    return note


@transaction.atomic
def withdraw_note(*, note: RoadNote, actor: Actor) -> None:
    """Take a note back. It stays in the book, and counts no more."""
    if withdraw(note, actor=actor):
        journal.write(note.run.job, Event.NOTE_WITHDRAWN, f"Undone: {in_words(note)}", actor=actor, note=str(note.pk))


@transaction.atomic
def end_run(*, run: RoadRun, summary: str, actor: Actor) -> None:
    """Back in the yard. Ending twice with the same words keeps the first end.

    Raises
    ------
    RunOverError
        If it was ended before with other words.
    """
    won = RoadRun.objects.filter(pk=run.pk, ended_at=None).update(ended_at=actor.at, summary=summary)
    run.refresh_from_db()
    if won:
        journal.write(run.job, Event.RUN_ENDED, f"Road test ended: {summary}", actor=actor, run=run.pk)
    elif run.summary != summary:
        raise RunOverError("This run has already ended. Add a journal note.")


def in_words(note: RoadNote) -> str:
    """'clear pinking at 2600 rpm, 2 inHg: on the hill'"""
    where = []
    if note.rpm is not None:
        where.append(f"{plain(note.rpm)} rpm")
    if note.vacuum_kpa is not None:
        where.append(pressure(note.vacuum_kpa, note.vacuum_unit or "kPa"))
    text = f"{Severity(note.severity).label} {NoteKind(note.kind).label}"
    if where:
        text += f" at {', '.join(where)}"
    return f"{text}: {note.words}" if note.words else text
