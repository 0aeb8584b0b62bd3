"""What is kept of an erasing: what kind of thing went, when, by whom and why, and never what it was."""

import uuid

from django.db import models

from garage.customers.models import Customer
from garage.people.models import Staff


class Erasure(models.Model):
    """A customer who was forgotten."""

    customer = models.OneToOneField(Customer, models.PROTECT, related_name="erasure")
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)
    # kind of thing and how many: {"papers": 2, "photographs": 1, "sentences": 14}
    gone = models.JSONField(default=dict)
    # what is done again after an older backup was restored: {"plates": true, "photographs": ["id", …]}
    chosen = models.JSONField(default=dict)
    # what the law makes the workshop keep: [{"what": "…", "table": "…", "pk": "…", "until": "2032-12-31"}]
    kept = models.JSONField(default=list)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["-at"]


class FileToRemove(models.Model):
    """A file that no row names any more, still to be taken off the disk; goes with the file."""

    name = models.CharField(max_length=200, unique=True)
