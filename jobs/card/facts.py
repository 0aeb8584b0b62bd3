"""What every fact of a job carries: an id made where it was written, the person, the device, and two moments."""

from django.db import models

from garage.people.models import Device, Staff


class RecordedFact(models.Model):
    """A fact that is appended and never overwritten. To correct one, append another that supersedes it.

    `id` is made on the device that writes, so that what is sent twice is one fact. Two people may correct the same
    fact without knowing of each other: both corrections stay, and are shown as a conflict.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    device = models.ForeignKey(Device, models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField()
    received_at = models.DateTimeField()
    supersedes = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="successors")

    class Meta:
        abstract = True
