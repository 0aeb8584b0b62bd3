"""Runs on the road, and the notes the passenger takes."""

import uuid
from datetime import datetime

from django.db import models

from garage.people.models import Staff
from garage.quantities.limits import Between
from garage.record.facts import WithdrawableFact
from jobs.job.models import Job

# What is said of a drive without a note-taker.
ALONE = "alone, notes written at the halt"


class BeforeLeaving(models.TextChoices):
    """What is looked at before a car leaves the yard. Common practice, no source."""

    READ_BACK = "read back", "version in the car read back clean"
    BRAKES_AND_FLUIDS = "brakes and fluids", "brakes and fluids"
    LEADS_TIED = "leads tied", "leads tied clear of belts and exhaust"
    INSURED = "insured", "insurance or trade plates"
    ROUTE = "route", "route agreed, with a hill and a place to stop"


class RoadRun(models.Model):
    """One drive with one map version in the car."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="road_runs")
    map_version = models.ForeignKey("jobs.MapVersion", models.PROTECT, related_name="road_runs")
    route = models.CharField(max_length=160)
    driver = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    writer = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    fuel_ron = models.FloatField("fuel octane (RON)", null=True, blank=True, validators=[Between(60, 115, "RON")])
    air_temperature_c = models.FloatField(null=True, blank=True, validators=[Between(-30, 50, "°C")])
    # the values of BeforeLeaving that were ticked; none on a run that began before the list was asked for
    looked_at = models.JSONField(default=list, blank=True)
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
    def is_alone(self) -> bool:
        """Whether the driver wrote the notes as well, at the halt."""
        return self.writer_id is None

    @property
    def crew(self) -> str:
        """Who drove and who took the notes."""
        return f"Driver: {self.driver}, {f'note-taker: {self.writer}' if self.writer else ALONE}"

    @property
    def looked_at_words(self) -> list[str]:
        return [BeforeLeaving(value).label for value in self.looked_at]


class NoteKind(models.TextChoices):
    PINKING = "pinking", "pinking"
    FLAT_SPOT = "flat spot", "flat spot"
    SURGE = "surge", "surge"
    HUNTING = "hunting", "hunting"
    RUN_ON = "run-on", "run-on"
    HOT_START = "hot start", "hot restart"
    KICK_BACK = "kick-back", "kick-back"
    IDLE = "idle", "rough idle"
    FINE = "fine", "fine here"
    MARK = "mark", "moment marked"
    OTHER = "other", "other"


class Severity(models.IntegerChoices):
    NOT_SAID = 0, "not said"
    TRACE = 1, "slight"
    CLEAR = 2, "definite"
    HEAVY = 3, "heavy"


class Load(models.TextChoices):
    """How far the throttle was open, as a passenger can tell."""

    CLOSED = "closed", "throttle closed"
    LIGHT = "light", "light throttle"
    HALF = "half", "half throttle"
    FULL = "full", "full throttle"


class RoadNote(WithdrawableFact):
    """What was heard or felt, and where: at an rpm and a vacuum, if anybody placed it.

    A note that is placed later, or in other words, supersedes the first and keeps its moment.
    """

    run = models.ForeignKey(RoadRun, models.PROTECT, related_name="notes")
    kind = models.CharField(max_length=12, choices=NoteKind)
    severity = models.PositiveSmallIntegerField(choices=Severity, default=Severity.NOT_SAID)
    # when it was heard or felt; empty where that is when it was written, or where nobody knows: written at the halt
    noticed_at = models.DateTimeField(null=True, blank=True)
    rpm = models.FloatField(null=True, blank=True, validators=[Between(0, 10000, "rpm")])
    vacuum_kpa = models.FloatField(null=True, blank=True, validators=[Between(-200, 100, "kPa")])
    vacuum_unit = models.CharField(max_length=8, blank=True)
    gear = models.PositiveSmallIntegerField(null=True, blank=True, validators=[Between(1, 6, "")])
    load = models.CharField(max_length=8, choices=Load, blank=True)
    words = models.CharField(max_length=500, blank=True)

    @property
    def at(self) -> datetime:
        """The moment it stands for in the list of its run."""
        return self.noticed_at or self.made_at

    @property
    def is_placed(self) -> bool:
        return self.rpm is not None

    @property
    def mark(self) -> str:
        """The mark it wears in the list of its run: more than slight pinking stands out."""
        if self.is_definite_pinking:
            return "stop"
        return "good" if self.kind == NoteKind.FINE else "note"

    @property
    def is_definite_pinking(self) -> bool:
        return self.kind == NoteKind.PINKING and self.severity >= Severity.CLEAR

    class Meta:
        ordering = ["made_at"]
        constraints = [
            # The suggested retard weighs pinking by how strong it was.
            models.CheckConstraint(condition=~models.Q(kind="pinking", severity=0), name="pinking_says_how_strong"),
        ]
