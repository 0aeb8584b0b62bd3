"""Who reads the plan in a calendar of their own."""

import uuid

from django.db import models

from garage.people.models import Staff


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
