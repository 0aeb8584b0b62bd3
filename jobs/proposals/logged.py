"""What loggers say of drives, as evidence: pinking by the knock level, and where the engine ran without any."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import timedelta

from jobs.proposals.evidence import Logs, RunLog
from jobs.roadlogs.felt import KnockEvent, knock_events, times_in_cells
from jobs.roadtest.models import NoteKind, RoadNote, RoadRun, Severity
from timing.roadlog import Driven, Pinking, Place

# A sensor hears other things besides; a person's ear is sure. Common practice, no source.
CONFIDENCE_OF_A_SENSOR = 0.5
# How far above the limit that a person set a knock is clear, and heavy. Common practice, no source.
CLEAR_ABOVE, HEAVY_ABOVE = 1.25, 1.5
# Knocks that follow one another within this are one: on a hill a person says it once. Common practice, no source. [s]
ONE_HILL_S = 5.0
# What a person notes within this after a knock is that knock: a note comes late (handbook 9). [s]
NOTED_WITHIN_S = 3.0


def logs_of(notes_of: Mapping[RoadRun, Sequence[RoadNote]]) -> Logs:
    """What the logs of each run say; a knock that somebody noted speaks by the note alone."""
    return {run.pk: log for run, notes in notes_of.items() if (log := _log_of(run, notes)).driven or log.pinking}


def _log_of(run: RoadRun, notes: Sequence[RoadNote]) -> RunLog:
    return RunLog(
        pinking=[_pinking(hill) for hill in _hills(knock_events(run)) if not _is_noted(hill, notes)],
        driven=[Driven(Place(rpm, vacuum), seconds) for rpm, vacuum, seconds in times_in_cells(run)],
    )


def _hills(events: Iterable[KnockEvent]) -> list[list[KnockEvent]]:
    """The knocks in the order of time, those of one hill together."""
    hills: list[list[KnockEvent]] = []
    for event in events:
        if hills and (event.when - hills[-1][-1].when).total_seconds() <= hills[-1][-1].seconds + ONE_HILL_S:
            hills[-1].append(event)
        else:
            hills.append([event])
    return hills


def _pinking(hill: Sequence[KnockEvent]) -> Pinking:
    """A hill's pinking, where it was loudest and for as long as it was heard."""
    event = max(hill, key=lambda one: one.level)
    above = event.level / event.limit if event.limit > 0 else HEAVY_ABOVE
    severity = Severity.HEAVY if above >= HEAVY_ABOVE else Severity.CLEAR if above >= CLEAR_ABOVE else Severity.TRACE
    heard_s = sum(one.seconds for one in hill)
    return Pinking(Place(event.rpm, event.vacuum), float(severity), CONFIDENCE_OF_A_SENSOR, heard_s)


def _is_noted(hill: Sequence[KnockEvent], notes: Iterable[RoadNote]) -> bool:
    begins, ends = hill[0].when, hill[-1].when + timedelta(seconds=hill[-1].seconds + NOTED_WITHIN_S)
    return any(note.kind == NoteKind.PINKING and begins <= note.at <= ends for note in notes)
