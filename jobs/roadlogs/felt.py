"""What a log says of a run, for whoever proposes the next version: knocks as events, and where the engine was."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from jobs.roadlogs.findings import Shown
from jobs.roadlogs.models import LogState, RoadLog
from jobs.roadlogs.queries import driven_on
from jobs.roadtest.models import RoadRun
from timing.inputs import FloatArray
from timing.roadlog import Grid


@dataclass(frozen=True, slots=True)
class KnockEvent:
    """A knock above the limit that the person set: where the engine was at its highest level."""

    when: datetime
    rpm: float  # [rpm at the crank]
    vacuum: float  # [kPa below atmosphere]
    level: float  # as logged
    limit: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Visited:
    """How long the engine was in each cell on a run, a row for each vacuum and a column for each speed. [s]"""

    grid: Grid
    seconds: FloatArray
    log_count: int


def logs_read(run: RoadRun) -> list[RoadLog]:
    """The logs of `run` that were read, in the order in which they came."""
    return list(run.logs.filter(state=LogState.READY))


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


def visited(run: RoadRun) -> Visited | None:
    """Where the engine was on `run`, over all its logs; None where none was read.

    The cells are those of the last log.
    """
    logs = logs_read(run)
    if not logs:
        return None
    grid = Shown.from_json(logs[-1].shown).grid
    seconds = np.sum([driven_on(log, grid).seconds for log in logs], axis=0)
    return Visited(grid, np.asarray(seconds), len(logs))
