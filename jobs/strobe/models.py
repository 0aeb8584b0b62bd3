"""Sessions with the strobe: the base timing proven, and later the whole map."""

import uuid

from django.db import models

from garage.people.models import Staff
from garage.quantities.limits import Between
from garage.record.facts import RecordedFact, WithdrawableFact
from jobs.job.models import Job
from timing.strobe import LampKind


class Purpose(models.TextChoices):
    BASE = "base timing", "base timing, curve flat"
    SWEEP = "map sweep", "sweep of the map"
    FINAL = "final check", "final check before handover"
    AFTER_CARE = "after-care", "after-care check"


class Lamp(models.TextChoices):
    """The kind of strobe, which decides what may be wrong with its readings."""

    PLAIN = LampKind.PLAIN.value, "plain strobe"
    DIAL_BACK = LampKind.DIAL_BACK.value, "dial-back strobe"


class StrobeSession(models.Model):
    """One session: the engine warm, the strobe on, readings written down. Judged as a whole."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="strobe_sessions")
    purpose = models.CharField(max_length=16, choices=Purpose)
    # what the unit is told to do: a flat base timing, or a map version
    base_deg = models.FloatField(null=True, blank=True, validators=[Between(-10, 40, "degrees")])
    map_version = models.ForeignKey(
        "jobs.MapVersion", models.PROTECT, null=True, blank=True, related_name="strobe_sessions"
    )
    lamp = models.CharField("strobe", max_length=12, choices=Lamp, blank=True)
    # the limit in force when it began: a proof is judged by it for ever
    tolerance_deg = models.FloatField(validators=[Between(0.1, 5, "degrees")])
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        db_table = "jobs_strobesitting"
        ordering = ["begun_at", "pk"]
        indexes = [models.Index(fields=["purpose", "begun_at", "job"], name="sessions_in_order")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(base_deg=None) ^ models.Q(map_version=None),
                name="sitting_expects_one_thing",
            ),
        ]

    @property
    def lamp_kind(self) -> LampKind | None:
        return LampKind(self.lamp) if self.lamp else None


class StrobeReading(WithdrawableFact):
    """One reading: what the strobe showed, and what the unit was told to give there."""

    session = models.ForeignKey(StrobeSession, models.PROTECT, related_name="readings", db_column="sitting_id")
    rpm = models.FloatField(validators=[Between(100, 10000, "rpm")])
    vacuum_kpa = models.FloatField(null=True, blank=True, validators=[Between(0, 100, "kPa")])
    vacuum_unit = models.CharField(max_length=8, blank=True)
    measured_deg = models.FloatField(validators=[Between(-30, 80, "degrees")])
    expected_deg = models.FloatField()

    class Meta:
        ordering = ["made_at", "rpm"]


class ClampCheck(RecordedFact):
    """The distributor clamped and marked after setting: it is never moved again."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="clamp_checks")
    change_deg = models.FloatField("shift after clamping", validators=[Between(-20, 20, "degrees")])
    torque_nm = models.FloatField("clamp torque", null=True, blank=True, validators=[Between(0.5, 60, "Nm")])
    mark_painted = models.BooleanField(default=False)
    tolerance_deg = models.FloatField(validators=[Between(0.1, 3, "degrees")])  # in force when it was checked

    class Meta:
        ordering = ["made_at"]
