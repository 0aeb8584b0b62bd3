"""Hours and parts of a job."""

from decimal import ROUND_HALF_UP, Decimal

from django.db import models

from garage.record.facts import WithdrawableFact
from jobs.job.models import Job


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
