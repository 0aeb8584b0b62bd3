"""The second signature: somebody has looked at the finished car and found it right."""

from django.db import models

from garage.record.facts import RecordedFact
from jobs.job.models import Job


class SignOff(RecordedFact):
    """A second person, who did not do the work being signed, has looked and found it right."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="sign_offs")
    map_version = models.ForeignKey("jobs.MapVersion", models.PROTECT, related_name="sign_offs")
    remarks = models.TextField(blank=True)

    class Meta:
        ordering = ["made_at"]
