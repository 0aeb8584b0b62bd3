"""A logger's file of a run: as it was sent, what its columns hold, and the figures that came of it."""

import uuid
from datetime import datetime, timedelta

from django.db import models

from garage.people.models import Staff
from garage.quantities.limits import Between
from jobs.roadtest.models import RoadRun

# A logger's clock and the workshop's differ by no more than a summer time and a trip abroad. [s]
FURTHEST_SHIFT_S = 12 * 3600.0


class LogState(models.TextChoices):
    """How far a log has come."""

    UPLOADED = "uploaded", "columns to confirm"
    READING = "reading", "reading"
    READY = "ready", "read"
    REFUSED = "refused", "not read"
    REMOVED = "removed", "removed"


class RoadLog(models.Model):
    """One log of one run.

    The file as it was sent is kept compressed. The figures of the columns that somebody confirmed are kept beside it
    (`figures`), with the time line's levels (`time_line`): both are written whole, before the row names them.
    """

    run = models.ForeignKey(RoadRun, models.PROTECT, related_name="logs")
    file = models.FileField(upload_to="road-logs", max_length=200)
    file_name = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64, db_index=True)  # of the file as it was sent
    size = models.PositiveBigIntegerField()  # of the file as it was sent [bytes]
    uploaded_at = models.DateTimeField()
    uploaded_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    state = models.CharField(max_length=10, choices=LogState, default=LogState.UPLOADED)
    problem = models.TextField(blank=True)
    # as `jobs.roadlogs.shape.FileShape` and `jobs.roadlogs.columns.ColumnMap` put it in JSON
    shape = models.JSONField(default=dict, blank=True)
    names = models.JSONField(default=list, blank=True)  # of the file's columns
    columns = models.JSONField(default=dict, blank=True)
    barometer_kpa = models.FloatField("barometer", null=True, blank=True, validators=[Between(50, 110, "kPa")])
    knock_limit = models.FloatField("knock level counts above", null=True, blank=True)
    confirmed_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    confirmed_at = models.DateTimeField(null=True, blank=True)

    # of the try that is under way
    tries = models.PositiveIntegerField(default=0)
    bytes_read = models.PositiveBigIntegerField(default=0)
    heard_at = models.DateTimeField(null=True, blank=True)

    # once read
    figures = models.FileField(upload_to="road-logs", max_length=200, blank=True)
    time_line = models.FileField(upload_to="road-logs", max_length=200, blank=True)
    rows_read = models.PositiveIntegerField(default=0)
    rows_bad = models.PositiveIntegerField(default=0)
    bad_rows = models.JSONField(default=list, blank=True)  # the first of them: [row of the file, what is wrong]
    remarks = models.JSONField(default=list, blank=True)
    shown = models.JSONField(default=dict, blank=True)  # as `jobs.roadlogs.findings.Shown` puts it in JSON
    # the moment at which the log's clock stood at nought, as far as anybody knows
    begins_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["uploaded_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(state="ready") | (~models.Q(figures="") & ~models.Q(time_line="")),
                name="log_that_was_read_has_figures",
            ),
        ]

    def __str__(self) -> str:
        return self.file_name

    @property
    def is_ready(self) -> bool:
        return self.state == LogState.READY

    @property
    def duration_s(self) -> float:
        return float(self.shown.get("duration_s", 0.0))

    @property
    def share_read(self) -> int:
        """How much of the file was read. [percent]"""
        return min(100, round(100 * self.bytes_read / self.size)) if self.size else 0

    def has_stopped(self, now: datetime) -> bool:
        """Whether nothing was heard of the reading for longer than a worker takes to be given up."""
        heard = self.heard_at or self.confirmed_at
        return self.state == LogState.READING and heard is not None and now - heard > timedelta(minutes=2)


class ColumnSet(models.Model):
    """Which columns of a logger hold what, under a name, for the next log with the same header."""

    name = models.CharField(max_length=60, unique=True)
    header_sha256 = models.CharField(max_length=64, db_index=True)
    shape = models.JSONField()
    columns = models.JSONField()
    knock_limit = models.FloatField(null=True, blank=True)
    changed_at = models.DateTimeField()
    changed_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
