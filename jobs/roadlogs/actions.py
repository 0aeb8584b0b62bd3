"""Taking in a log, confirming its columns, setting its clock, and removing it."""

from datetime import datetime
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from garage.background.queue import put_in
from garage.files.storage import discarded_on_failure
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from jobs.job import journal
from jobs.roadlogs.columns import ColumnMap, as_json
from jobs.roadlogs.kept_figures import delete_once_kept
from jobs.roadlogs.models import FURTHEST_SHIFT_S, ColumnSet, LogState, RoadLog
from jobs.roadlogs.raw import Received
from jobs.roadlogs.refusals import LogRefusedError
from jobs.roadlogs.shape import FileShape, Preview
from jobs.roadlogs.tasks import read_road_log
from jobs.roadtest.models import RoadRun
from timing.minus import with_minus

REMOVED = "This log was removed. Upload it again."


@discarded_on_failure()
def upload_log(
    *, run: RoadRun, received: Received, file_name: str, shape: FileShape, idempotency_key: UUID, actor: Actor
) -> RoadLog:
    """Keep a file that was received for `run`. Twice is once.

    Raises
    ------
    LogRefusedError
        If the same file was uploaded before.
    """
    typed = {"run": run, "sha256": received.sha256}
    if made := RoadLog.objects.filter(idempotency_key=idempotency_key).first():
        refuse_unless_same(made, typed)
        return made
    _refuse_known(received.sha256)
    # On the disk before the book is locked: a large file must not keep others from writing.
    name = default_storage.save(f"road-logs/{received.sha256[:16]}.csv.gz", File(received.packed))
    with transaction.atomic():
        RoadRun.objects.select_for_update().get(pk=run.pk)
        _refuse_known(received.sha256)
        log = RoadLog.objects.create(
            **typed,
            file=name,
            file_name=file_name,
            size=received.size,
            shape=shape.as_json(),
            uploaded_at=actor.at,
            uploaded_by=actor.person,
            idempotency_key=idempotency_key,
        )
        journal.write(
            run.job, Event.LOG_UPLOADED, f"Log uploaded: {file_name}", actor=actor, run=run.pk, sha256=received.sha256
        )
    return log


def _refuse_known(sha256: str) -> None:
    first = RoadLog.objects.filter(sha256=sha256).exclude(state=LogState.REMOVED).select_related("run__job").first()
    if first is not None:
        day = timezone.localtime(first.uploaded_at)
        raise LogRefusedError(
            f"This file was uploaded before: {day:%-d %b %Y}, job {first.run.job.code}, {first.file_name}."
        )


@transaction.atomic
def confirm_columns(
    *,
    log: RoadLog,
    shape: FileShape,
    preview: Preview,
    columns: ColumnMap,
    barometer_kpa: float,
    knock_limit: float | None,
    kept_as: str,
    actor: Actor,
) -> None:
    """Say what the columns hold, and have the log read by that. `kept_as` keeps the columns under a name.

    Raises
    ------
    LogRefusedError
        If it was removed, or is being read.
    """
    log = _locked(log)
    log.shape, log.names, log.columns = shape.as_json(), preview.names, as_json(columns)
    log.barometer_kpa, log.knock_limit = barometer_kpa, knock_limit
    if kept_as:
        ColumnSet.objects.update_or_create(
            name=kept_as,
            defaults={
                "header_sha256": preview.header_sha256,
                "shape": shape.as_json(),
                "columns": as_json(columns),
                "knock_limit": knock_limit,
                "changed_at": actor.at,
                "changed_by": actor.person,
            },
        )
    _begin(log, actor)
    journal.write(
        log.run.job,
        Event.LOG_CONFIRMED,
        f"Log columns confirmed: {log.file_name}",
        actor=actor,
        log=log.pk,
        columns=log.columns,
        barometer_kpa=barometer_kpa,
        knock_limit=knock_limit,
    )


@transaction.atomic
def try_again(*, log: RoadLog, actor: Actor) -> None:
    """Read a log once more by the columns that were confirmed. Raises as `confirm_columns` does."""
    log = _locked(log)
    if not log.columns:
        raise LogRefusedError("Confirm the columns first.")
    _begin(log, actor)
    journal.write(
        log.run.job, Event.LOG_CONFIRMED, f"Log tried again: {log.file_name}", actor=actor, log=log.pk, tries=log.tries
    )


def _locked(log: RoadLog) -> RoadLog:
    log = RoadLog.objects.select_for_update().get(pk=log.pk)
    if log.state == LogState.REMOVED:
        raise LogRefusedError(REMOVED)
    return log


def _begin(log: RoadLog, actor: Actor) -> None:
    if log.state == LogState.READING and not log.has_stopped(actor.at):
        raise LogRefusedError("This log is being read. Wait until it is done.")
    log.state, log.problem, log.tries = LogState.READING, "", log.tries + 1
    log.bytes_read, log.heard_at = 0, None
    log.confirmed_by, log.confirmed_at = actor.person, actor.at
    log.save()
    put_in(read_road_log, f"{log.pk} {log.tries}", log=log.pk, tries=log.tries)


@transaction.atomic
def set_clock(*, log: RoadLog, begins_at: datetime, actor: Actor) -> None:
    """Say at which moment the log's clock stood at nought.

    Raises
    ------
    LogRefusedError
        If that is half a day or more away from the run.
    """
    log = _locked(log)
    before = log.begins_at
    if abs((begins_at - log.run.begun_at).total_seconds()) > FURTHEST_SHIFT_S:
        raise LogRefusedError("A log begins within 12 hours of its run.")
    if before is None or before == begins_at:
        return
    log.begins_at = begins_at
    log.save(update_fields=["begins_at"])
    moved = (begins_at - before).total_seconds()
    journal.write(
        log.run.job,
        Event.LOG_SHIFTED,
        f"Log clock shifted by {with_minus(format(moved, '+.1f'))} s: {log.file_name}",
        actor=actor,
        log=log.pk,
        before=before.isoformat(),
        after=begins_at.isoformat(),
    )


@transaction.atomic
def remove_log(*, log: RoadLog, actor: Actor) -> None:
    """Take a log off its run. The file as it was sent is kept; what was read of it goes."""
    log = RoadLog.objects.select_for_update().get(pk=log.pk)
    if log.state == LogState.REMOVED:
        return
    before = [log.figures.name, log.time_line.name]
    log.state, log.figures, log.time_line = LogState.REMOVED, "", ""
    log.shown, log.bad_rows, log.remarks = {}, [], []
    log.save()
    journal.write(log.run.job, Event.LOG_REMOVED, f"Log removed: {log.file_name}", actor=actor, log=log.pk)
    delete_once_kept(before)
