"""The engine as it came in: the sweep of the old advance, compression, the timing mark, and the verdict on it."""

from django.db import models

from garage.quantities.limits import Between
from garage.record.facts import RecordedFact, WithdrawableFact
from jobs.job.models import Job


class SweepDirection(models.TextChoices):
    RISING = "rising", "revs rising"
    FALLING = "falling", "revs falling"


class SweepReading(WithdrawableFact):
    """One strobe reading of the old distributor, vacuum pipe off."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="sweep_readings")
    rpm = models.FloatField(validators=[Between(100, 10000, "rpm")])
    measured_deg = models.FloatField(validators=[Between(-30, 80, "degrees")])
    direction = models.CharField(max_length=8, choices=SweepDirection, default=SweepDirection.RISING)

    class Meta:
        ordering = ["made_at", "rpm"]


class CompressionReading(WithdrawableFact):
    """Cranking compression of one cylinder."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="compression_readings")
    cylinder = models.PositiveSmallIntegerField(validators=[Between(1, 12)])
    gauge_kpa = models.FloatField(validators=[Between(0, 3000, "kPa")])
    entered_unit = models.CharField(max_length=8)
    # where it was read, and what was allowed then
    altitude_m = models.FloatField(validators=[Between(-400, 5000, "m")])
    allowed_spread_percent = models.FloatField(validators=[Between(1, 50, "%")])

    class Meta:
        ordering = ["cylinder", "made_at"]


class MarkCheck(RecordedFact):
    """The timing mark against a piston stop: two wheel readings at contact, and what the mark reads."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="mark_checks")
    first_deg = models.FloatField(validators=[Between(-360, 360, "degrees")])
    second_deg = models.FloatField(validators=[Between(-360, 360, "degrees")])
    mark_deg = models.FloatField(validators=[Between(-360, 360, "degrees")])
    tolerance_deg = models.FloatField(validators=[Between(0.1, 5, "degrees")])  # in force when it was checked

    class Meta:
        ordering = ["made_at"]


class Fitness(models.TextChoices):
    READY = "ready", "ready for the conversion"
    WITH_REMARKS = "with remarks", "ready, with remarks"
    TALK_TO_OWNER = "talk to the owner", "not ready: talk to the owner"


class InspectionVerdict(RecordedFact):
    """Whether this engine is fit to be converted, said by a person."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="inspection_verdicts")
    fitness = models.CharField(max_length=20, choices=Fitness)
    remarks = models.TextField(blank=True)
    # what had failed and was accepted all the same: [{"key", "failure", "remark", "stops"}]
    decided = models.JSONField(default=list, blank=True)
    # how and when the customer was told of what stops; the customer's sheet says so
    customer_told = models.CharField(max_length=300, blank=True)
    # the workshop's limits when it was given, by the names they have there
    mark_tolerance_deg = models.FloatField(validators=[Between(0.1, 5, "degrees")])
    compression_spread_percent = models.FloatField(validators=[Between(1, 50, "%")])
    least_sweep_speeds = models.PositiveSmallIntegerField(validators=[Between(4, 30)])

    class Meta:
        ordering = ["made_at"]
