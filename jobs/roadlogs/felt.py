"""What a log says of a run, for whoever proposes the next version: knocks as events, and where the engine was."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from jobs.roadlogs.findings import Shown
from jobs.roadlogs.models import LogState, RoadLog
from jobs.roadtest.models import RoadRun


@dataclass(frozen=True, slots=True)
class KnockEvent:
    """A knock above the limit that the person set: where the engine was at its highest level."""

    when: datetime
    rpm: float  # [rpm at the crank]
    vacuum: float  # [kPa below atmosphere]
    level: float  # as logged
    limit: float
    seconds: float


def logs_read(run: RoadRun) -> list[RoadLog]:
    """The logs of `run` that were read, in the order in which they came."""
    return sorted((log for log in run.logs.all() if log.state == LogState.READY), key=lambda log: log.pk)


def knock_events(run: RoadRun) -> list[KnockEvent]:
    """The knocks of every log of `run` that has a knock level and a limit for it, in the order of time."""
    events = []
    for log in logs_read(run):
        if log.knock_limit is None or log.begins_at is None:
            continue
        for at_s, seconds, rpm, vacuum, level in Shown.from_json(log.shown).knocks:
            when = log.begins_at + timedelta(seconds=at_s)
            events.append(KnockEvent(when, rpm, vacuum, level, log.knock_limit, seconds))
    return sorted(events, key=lambda event: event.when)


def times_in_cells(run: RoadRun) -> list[tuple[float, float, float]]:
    """Where the engine was on `run`, over all its logs: speed and vacuum of each cell it was in, and for how long.

    [rpm at the crank], [kPa below atmosphere], [s]
    """
    found = [Shown.from_json(log.shown) for log in logs_read(run)]
    return [
        (rpm, vacuum, seconds)
        for shown in found
        for vacuum, row in zip(shown.vacuum, shown.seconds, strict=True)
        for rpm, seconds in zip(shown.rpm, row, strict=True)
        if seconds > 0
    ]
