"""Photographs of a car as it was booked in, before there is a sheet."""

from django.db import models

from jobs.checklists.models import KeptPhotograph
from jobs.job.models import Job


class BookingPhotograph(KeptPhotograph):
    """A photograph of the car on arrival, which belongs to the job itself."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="photographs")

    class Meta(KeptPhotograph.Meta):
        pass
