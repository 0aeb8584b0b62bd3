"""Runs on the road, and the notes the passenger takes."""

import uuid

from django.db import models

from garage.people.models import Staff
from garage.quantities.limits import Between
from garage.record.facts import WithdrawableFact
from jobs.job.models import Job

# What is said of a drive without a note-taker.
ALONE = "alone, notes written at the halt"


class RoadRun(models.Model):
    """One drive with one map version in the car."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="road_runs")
    map_version = models.ForeignKey("jobs.MapVersion", models.PROTECT, related_name="road_runs")
    route = models.CharField(max_length=160)
    driver = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    writer = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    fuel_ron = models.FloatField("fuel octane (RON)", null=True, blank=True, validators=[Between(60, 115, "RON")])
    air_temperature_c = models.FloatField(null=True, blank=True, validators=[Between(-30, 50, "°C")])
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    summary = models.TextField(blank=True)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["begun_at", "pk"]
        constraints = [
            # The driver only drives: nobody writes at the wheel.
            models.CheckConstraint(condition=~models.Q(driver=models.F("writer")), name="driver_does_not_write"),
        ]

    @property
    def crew(self) -> str:
        """Who drove and who took the notes."""
        return f"Driver: {self.driver}, {f'note-taker: {self.writer}' if self.writer else ALONE}"


class NoteKind(models.TextChoices):
    PINKING = "pinking", "pinking"
    FLAT_SPOT = "flat spot", "flat spot"
    SURGE = "surge", "surge"
    RUN_ON = "run-on", "run-on"
    HOT_START = "hot start", "hot restart"
    KICK_BACK = "kick-back", "kick-back"
    IDLE = "idle", "idle"
    OTHER = "other", "other"


class Severity(models.IntegerChoices):
    TRACE = 1, "trace"
    CLEAR = 2, "definite"
    HEAVY = 3, "heavy"


class RoadNote(WithdrawableFact):
    """What was heard or felt, where: at an rpm and a vacuum."""

    run = models.ForeignKey(RoadRun, models.PROTECT, related_name="notes")
    kind = models.CharField(max_length=12, choices=NoteKind)
    severity = models.PositiveSmallIntegerField(choices=Severity, default=Severity.CLEAR)
    rpm = models.FloatField(null=True, blank=True, validators=[Between(0, 10000, "rpm")])
    vacuum_kpa = models.FloatField(null=True, blank=True, validators=[Between(-200, 100, "kPa")])
    vacuum_unit = models.CharField(max_length=8, blank=True)
    words = models.CharField(max_length=500, blank=True)

    @property
    def mark(self) -> str:
        """The mark it wears in the list of its run: pinking that is more than a trace stands out."""
        return "stop" if self.is_definite_pinking else "note"

    @property
    def is_definite_pinking(self) -> bool:
        return self.kind == NoteKind.PINKING and self.severity >= Severity.CLEAR

    class Meta:
        ordering = ["made_at"]
