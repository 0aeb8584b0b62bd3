"""How long jobs of a kind usually take, and who reads the plan in a calendar of their own."""

import uuid
from decimal import Decimal

from django.db import models

from garage.people.models import Staff
from garage.quantities.limits import Between
from jobs.job.models import JobKind


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


class CalendarFeed(models.Model):
    """An address under which a calendar reads the plan of one person, or of the whole yard. Only its hash is kept."""

    person = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="calendar_feeds")
    with_names = models.BooleanField("with customers' names", default=False)
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    revoked_at = models.DateTimeField(null=True, blank=True)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"calendar of {self.person}" if self.person else "calendar of the yard"
