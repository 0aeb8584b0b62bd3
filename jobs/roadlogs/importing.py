"""One log from its file to what the pages show; a worker does it, says how far it is, and may be killed at any moment.

Nothing stands in the book before all of it does: the two files of figures are written whole, and named in one
transaction. A worker that was killed leaves a log that says 'reading' and is taken again by the next one.
"""

import time
from datetime import UTC, datetime, timedelta

import numpy as np
from django.core.files.storage import default_storage
from django.utils import timezone

from garage.files.storage import StorageFullError, discarded_on_failure
from garage.record.actor import Actor
from garage.record.refusals import RuleRefusedError
from jobs.maps.surface_nodes import surface_nodes
from jobs.roadlogs import columns, raw
from jobs.roadlogs.conversion import Converted, converted
from jobs.roadlogs.findings import advance_of, found_in
from jobs.roadlogs.kept_figures import KeptFigures, keep_figures, keep_time_line
from jobs.roadlogs.models import FURTHEST_SHIFT_S, LogState, RoadLog
from jobs.roadlogs.outcome_actions import ReadLog, keep_refusal, keep_what_was_read
from jobs.roadlogs.reading import read_figures
from jobs.roadlogs.refusals import LogRefusedError
from jobs.roadlogs.shape import FileShape
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.roadlog import Grid, pyramid

SAYS_EVERY_S = 0.5
_YEAR_S = 365 * 86_400.0


def read_in(*, log_id: int, tries: int) -> str:
    """Read the log in; gives back what came of it, in a sentence."""
    logs = RoadLog.objects.select_related("run__job__vehicle__engine", "run__map_version", "confirmed_by")
    log = logs.filter(pk=log_id, state=LogState.READING, tries=tries).first()
    if log is None or log.confirmed_by is None:
        return "Nothing to read."
    actor = Actor(person=log.confirmed_by, at=timezone.now())
    try:
        with discarded_on_failure():
            kept = keep_what_was_read(log=log, read=_read(log), actor=actor)
    except (RuleRefusedError, TimingError, StorageFullError) as refusal:
        problem = str(refusal)
        try:
            keep_refusal(log=log, problem=problem, actor=actor)
        except RuleRefusedError:  # the job was abandoned meanwhile, and takes no more lines
            RoadLog.objects.filter(pk=log.pk, tries=tries).update(state=LogState.REFUSED, problem=problem)
        return f"{log.file_name} not read: {problem}"
    return f"{log.file_name} read." if kept else "Nothing to read."


def _read(log: RoadLog) -> ReadLog:
    shape, mapped = FileShape.from_json(log.shape), columns.from_json(log.columns)
    the_map = _map_of(log)
    with raw.opened(log.file) as opened:
        figures = read_figures(opened, shape, mapped, log.names, _Progress(log))
    found = converted(figures, mapped, log.names, barometer_kpa=log.barometer_kpa or 0.0)
    del figures
    rpm, vacuum = surface_nodes(the_map, log.run.job.vehicle.engine)
    grid = Grid(rpm=rpm, vacuum=vacuum)
    advance = advance_of(the_map, found)
    shown = found_in(found, advance, grid, knock_limit=log.knock_limit)
    drawn = np.stack([found.rpm, found.vacuum, advance.astype(np.float32)])
    begins_at = _begins_at(log, mapped["time"].unit, found)
    figures_name, line_name = _names_of(log)
    return ReadLog(
        figures=keep_figures(
            figures_name,
            KeptFigures(found.t_s, {"rpm": drawn[0], "vacuum": drawn[1], "advance": drawn[2], **found.others}),
        ),
        time_line=keep_time_line(line_name, pyramid(found.t_s, drawn)),
        rows_read=found.t_s.size,
        rows_bad=found.bad.count,
        bad_rows=found.bad.in_order(),
        remarks=found.remarks,
        shown=shown.as_json(),
        begins_at=begins_at,
    )


class _Progress:
    """Says in the book how much was read, twice a second."""

    def __init__(self, log: RoadLog) -> None:
        self._log, self._said_at = log, 0.0

    def __call__(self, read: int) -> None:
        now = time.monotonic()
        if now - self._said_at < SAYS_EVERY_S:
            return
        self._said_at = now
        found = RoadLog.objects.filter(pk=self._log.pk, state=LogState.READING, tries=self._log.tries)
        if not found.update(bytes_read=read, heard_at=timezone.now()):
            raise LogRefusedError("This log was removed while it was read.")


def _map_of(log: RoadLog) -> IgnitionMap:
    version = log.run.map_version
    if not version.is_sound():
        raise LogRefusedError(version.damage)
    return version.delivered_map()


def _names_of(log: RoadLog) -> tuple[str, str]:
    """Names for the files of this try; what a killed one left under them goes first."""
    names = (f"road-logs/{log.pk}-{log.tries}-figures.npz", f"road-logs/{log.pk}-{log.tries}-line.npz")
    for name in names:
        default_storage.delete(name)
    return names


def _begins_at(log: RoadLog, unit: str, found: Converted) -> datetime:
    """The moment of the log's first row: by its own clock if it has one, else the beginning of the run."""
    begun = log.run.begun_at
    if unit != columns.CLOCK:
        return begun
    zone = timezone.get_current_timezone()
    if found.first_t_s > _YEAR_S:
        naive = datetime.fromtimestamp(found.first_t_s, tz=UTC).replace(tzinfo=None)
        said = naive.replace(tzinfo=zone)
    else:
        midnight = begun.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)
        said = midnight + timedelta(seconds=found.first_t_s)
    if abs((said - begun).total_seconds()) > FURTHEST_SHIFT_S:
        found.remarks.append(f"The logger's clock says {said:%-d %b %Y, %H:%M}. The log was set to begin with the run.")
        return begun
    return said
