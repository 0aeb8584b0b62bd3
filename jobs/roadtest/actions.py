"""Recording a road test."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.db import transaction

from garage.people.models import Staff
from garage.quantities.words import plain, pressure
from garage.record.actor import Actor
from garage.record.append import append, withdraw
from garage.record.events import Event
from garage.record.facts import current
from garage.record.idempotency import refuse_unless_same
from garage.record.refusals import RuleRefusedError
from jobs.job import journal
from jobs.job.models import Job
from jobs.roadtest.models import Load, NoteKind, RoadNote, RoadRun, Severity


class RunOverError(RuleRefusedError):
    """The run has ended: what was noticed later belongs to the journal or to a new run."""


class SomethingFoundError(RuleRefusedError):
    """Nothing is said to be found on a run whose notes say otherwise."""


class NoteChangedError(RuleRefusedError):
    """The note was placed, changed or undone elsewhere meanwhile."""


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
    looked_at: Sequence[str] = (),
) -> RoadRun:
    """Set off with a map version in the car. Without a `writer` the driver is alone, and writes at the halt.

    `looked_at` are the values of `BeforeLeaving` that were ticked.
    """
    typed = {
        "job": job,
        "route": route,
        "driver": driver,
        "writer": writer,
        "fuel_ron": fuel_ron,
        "air_temperature_c": air_temperature_c,
        "looked_at": list(looked_at),
    }
    run, is_new = RoadRun.objects.get_or_create(
        idempotency_key=idempotency_key, defaults={**typed, "map_version_id": version_id, "begun_at": actor.at}
    )
    if not is_new:
        refuse_unless_same(run, typed)
    else:
        sentence = f"Road test started with {version_words}: {route}; {run.crew[:1].lower()}{run.crew[1:]}"
        journal.write(job, Event.RUN_BEGUN, sentence, actor=actor, version=version_id, looked_at=list(looked_at))
    return run


@transaction.atomic
def take_note(
    *,
    run: RoadRun,
    id: UUID,
    kind: str,
    actor: Actor,
    severity: int = Severity.NOT_SAID,
    rpm: float | None = None,
    vacuum_kpa: float | None = None,
    vacuum_unit: str = "",
    gear: int | None = None,
    load: str = "",
    words: str = "",
    made_at: datetime | None = None,
) -> RoadNote:
    """Note what was heard or felt. One tap is enough; speed and vacuum place it on the map, at once or later.

    `made_at` is when it was written, where it waited on a tablet.

    Raises
    ------
    RunOverError
        If it was written after the run had ended.
    """
    too_late = run.ended_at is not None and (made_at is None or made_at > run.ended_at)
    if too_late and not RoadNote.objects.filter(pk=id).exists():
        raise RunOverError("This run has ended. Start a new run or add a journal note.")
    note, is_new = append(
        RoadNote,
        id=id,
        actor=actor,
        made_at=made_at,
        run=run,
        kind=kind,
        severity=severity,
        rpm=rpm,
        vacuum_kpa=vacuum_kpa,
        vacuum_unit=vacuum_unit if vacuum_kpa is not None else "",
        gear=gear,
        load=load,
        words=words,
    )
    if is_new:
        _write_down(note, "On the road", actor)
    return note


@transaction.atomic
def place_note(
    *,
    note: RoadNote,
    id: UUID,
    kind: str,
    actor: Actor,
    severity: int = Severity.NOT_SAID,
    rpm: float | None = None,
    vacuum_kpa: float | None = None,
    vacuum_unit: str = "",
    gear: int | None = None,
    load: str = "",
    words: str = "",
    made_at: datetime | None = None,
) -> RoadNote:
    """Say more of a note: where on the map it was, what it was, in which gear. It keeps its moment.

    The run may have ended since: nothing new is said to have happened on it.

    Raises
    ------
    NoteChangedError
        If another note stands in its place already.
    """
    RoadRun.objects.select_for_update().get(pk=note.run_id)  # two tablets that place one note come one after the other
    if note.withdrawn or note.successors.exclude(pk=id).exists():
        raise NoteChangedError("This note was changed or undone meanwhile. Look at the list and enter it again.")
    placed, is_new = append(
        RoadNote,
        id=id,
        actor=actor,
        supersedes=note,
        in_force={"noticed_at": note.at},
        made_at=made_at,
        run=note.run,
        kind=kind,
        severity=severity,
        rpm=rpm,
        vacuum_kpa=vacuum_kpa,
        vacuum_unit=vacuum_unit if vacuum_kpa is not None else "",
        gear=gear,
        load=load,
        words=words,
    )
    if is_new:
        _write_down(placed, "On the road, placed", actor)
    return placed


def _write_down(note: RoadNote, how: str, actor: Actor) -> None:
    journal.write(
        note.run.job,
        Event.ROAD_NOTE,
        f"{how}: {in_words(note)}",
        actor=actor,
        rpm=note.rpm,
        severity=note.severity,
    )


@transaction.atomic
def withdraw_note(*, note: RoadNote, actor: Actor) -> None:
    """Take a note back. It stays in the book, and counts no more."""
    if withdraw(note, actor=actor):
        journal.write(note.run.job, Event.NOTE_WITHDRAWN, f"Undone: {in_words(note)}", actor=actor, note=str(note.pk))


@transaction.atomic
def end_run(*, run: RoadRun, actor: Actor, summary: str = "", nothing_found: bool = False) -> None:
    """Back in the yard. Ending twice with the same words keeps the first end.

    `nothing_found` says so in our words, where no other were given.

    Raises
    ------
    RunOverError
        If it was ended before with other words.
    SomethingFoundError
        If nothing is said to be found, and a note says that something was.
    """
    if nothing_found and (found := [note for note in current(run.notes.all()) if note.kind not in IS_NO_FAULT]):
        raise SomethingFoundError(f"The notes say: {in_words(found[0])}. Write how it drove.")
    summary = summary or (NOTHING_FOUND if nothing_found else "")
    won = RoadRun.objects.filter(pk=run.pk, ended_at=None).update(ended_at=actor.at, summary=summary)
    run.refresh_from_db()
    if won:
        journal.write(run.job, Event.RUN_ENDED, f"Road test ended: {summary}", actor=actor, run=run.pk)
    elif run.summary != summary:
        raise RunOverError("This run has already ended. Add a journal note.")


# Notes that say where it is well, or only when something was.
IS_NO_FAULT = frozenset({NoteKind.FINE, NoteKind.MARK})
NOTHING_FOUND = "Nothing found."


def in_words(note: RoadNote) -> str:
    """'definite pinking at 2600 rpm, 2 inHg, gear 3, full throttle: on the hill'"""
    where = []
    if note.rpm is not None:
        where.append(f"{plain(note.rpm)} rpm")
    if note.vacuum_kpa is not None:
        where.append(pressure(note.vacuum_kpa, note.vacuum_unit or "kPa"))
    if note.gear is not None:
        where.append(f"gear {note.gear}")
    if note.load:
        where.append(Load(note.load).label)
    text = NoteKind(note.kind).label
    if note.severity:
        text = f"{Severity(note.severity).label} {text}"
    if where:
        text += f"{' at' if note.rpm is not None else ','} {', '.join(where)}"
    return f"{text}: {note.words}" if note.words else text
