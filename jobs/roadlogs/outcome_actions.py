"""What came of reading a log: all of it at once, or why not."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from garage.record.actor import Actor
from garage.record.events import Event
from jobs.job import journal
from jobs.roadlogs.kept_figures import delete_once_kept
from jobs.roadlogs.models import LogState, RoadLog


@dataclass(frozen=True, slots=True)
class ReadLog:
    """What came of reading a log: the names of its kept files, and what the pages show."""

    figures: str
    time_line: str
    rows_read: int
    rows_bad: int
    bad_rows: list[tuple[int, str]]
    remarks: list[str]
    shown: dict[str, Any]
    begins_at: datetime


@transaction.atomic
def keep_what_was_read(*, log: RoadLog, read: ReadLog, actor: Actor) -> bool:
    """Keep what was read, all of it at once; whether it was still asked for.

    The moment at which the log begins stays where somebody has set it.
    """
    current = RoadLog.objects.select_for_update().get(pk=log.pk)
    if current.state != LogState.READING or current.tries != log.tries:
        return False
    before = [current.figures.name, current.time_line.name]
    current.state = LogState.READY
    for name in ("figures", "time_line", "rows_read", "rows_bad", "bad_rows", "remarks", "shown"):
        setattr(current, name, getattr(read, name))
    current.begins_at = current.begins_at or read.begins_at
    current.bytes_read = current.size
    current.save()
    said = f"Log read: {current.file_name}, {read.rows_read:,} rows"
    if read.rows_bad:
        said += f", {read.rows_bad:,} bad"
    journal.write(current.run.job, Event.LOG_READ, said, actor=actor, log=log.pk, bad=read.rows_bad)
    delete_once_kept(before)
    return True


@transaction.atomic
def keep_refusal(*, log: RoadLog, problem: str, actor: Actor) -> None:
    """Say of a log why it cannot be read. The file stays for another try."""
    found = RoadLog.objects.filter(pk=log.pk, state=LogState.READING, tries=log.tries)
    if found.update(state=LogState.REFUSED, problem=problem):
        sentence = f"Log not read: {log.file_name}. {problem}"
        journal.write(log.run.job, Event.LOG_REFUSED, sentence, actor=actor, log=log.pk)
