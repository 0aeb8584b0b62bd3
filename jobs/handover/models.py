"""The second signature: somebody has looked at the finished car and found it right."""

from django.db import models

from garage.record.facts import RecordedFact
from jobs.job.models import Job
from jobs.job.second_check import pause_in_words


class SignOff(RecordedFact):
    """A second person, who did not do the work being signed, has looked and found it right."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="sign_offs")
    map_version = models.ForeignKey("jobs.MapVersion", models.PROTECT, related_name="sign_offs")
    remarks = models.TextField(blank=True)
    # Somebody who works alone signs own work after a pause, with the strobe read again; empty for another person.
    own_pause_s = models.PositiveIntegerField("seconds after own work", null=True, blank=True)
    read_again = models.JSONField(default=list, blank=True)  # of each reading: rpm, measured_deg, expected_deg

    class Meta:
        ordering = ["made_at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(own_pause_s__isnull=True) | models.Q(own_pause_s__gte=1200),
                name="own_work_signed_after_a_pause",
            ),
        ]

    @property
    def pause(self) -> str:
        """'same person, 3 h later'; nothing where another person signed."""
        return pause_in_words(self.own_pause_s)
