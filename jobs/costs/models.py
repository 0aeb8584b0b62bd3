"""Hours and parts of a job."""

from decimal import ROUND_HALF_UP, Decimal

from django.db import models

from garage.people.models import Staff
from garage.quantities.limits import Between
from garage.record.facts import WithdrawableFact
from jobs.job.models import Job, JobKind, Stage


class CostKind(models.TextChoices):
    HOURS = "hours", "hours"
    PART = "part", "part"


class CostLine(WithdrawableFact):
    """Hours worked or a part used. Money is decimal, never a float."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="cost_lines")
    kind = models.CharField(max_length=8, choices=CostKind)
    description = models.CharField(max_length=160)
    quantity = models.DecimalField(max_digits=8, decimal_places=2)
    unit_price = models.DecimalField(max_digits=10, decimal_places=2)

    class Meta:
        ordering = ["made_at"]

    @property
    def amount(self) -> Decimal:
        """Quantity times price, to the penny, halves up as people reckon."""
        return (self.quantity * self.unit_price).quantize(Decimal("0.01"), ROUND_HALF_UP)


class WorkTimer(models.Model):
    """A person at work on a stage of a job, from when to when. Its hours are a `CostLine` once it is stopped."""

    id = models.UUIDField(primary_key=True, editable=False)  # made with the page, so that a double tap is one start
    job = models.ForeignKey(Job, models.PROTECT, related_name="timers")
    person = models.ForeignKey(Staff, models.PROTECT, related_name="timers")
    stage = models.CharField(max_length=16, choices=Stage)
    started_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True, blank=True)
    line = models.OneToOneField(CostLine, models.PROTECT, null=True, blank=True, related_name="timer")

    class Meta:
        ordering = ["started_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=models.Q(stopped_at=None), name="one_running_timer_a_person"
            ),
            models.CheckConstraint(
                condition=models.Q(stopped_at=None) | models.Q(stopped_at__gte=models.F("started_at")),
                name="timer_ends_after_it_began",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_stage_display()}, {self.person}"


class UsualHours(models.Model):
    """How long a job of a kind usually takes. [hours]"""

    kind = models.CharField("kind of job", max_length=16, choices=JobKind, unique=True)
    hours = models.DecimalField(max_digits=5, decimal_places=2, validators=[Between(0, 200, "hours")])

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.hours} h"


# What a workshop starts with, until the owner knows better: common practice, no source. [hours]
HOURS_AT_FIRST = {
    JobKind.CONVERSION: Decimal(16),
    JobKind.UNIT_AND_MAP: Decimal(10),
    JobKind.SETTINGS: Decimal(6),
    JobKind.CHECK: Decimal(3),
    JobKind.UNIT_REPLACED: Decimal(5),
}
