"""The views of the trail: of one thing, and of one job."""

from django.db import models
from django.db.models.expressions import RawSQL

from garage.record.models import TrailEntry, kind_of

SHOWN = 20


def changes_of(thing: models.Model) -> list[TrailEntry]:
    """The latest entries about `thing`, newest first."""
    found = TrailEntry.objects.filter(subject_kind=kind_of(thing), subject_id=thing.pk)
    return list(found.select_related("by", "device").order_by("-at", "-pk")[:SHOWN])


def trail_of_job(job_id: int) -> models.QuerySet[TrailEntry]:
    """Every entry of one job, in order: its journal."""
    return TrailEntry.objects.filter(job_id=job_id)


def lines_of_job(job_id: int) -> RawSQL:
    """How many entries the trail has of one job, as a column of another question.

    It only grows, and whatever is done on a job adds to it. Written out, because it is asked with every tick of every
    tablet, and putting it together would take longer than asking it.
    """
    return RawSQL("(SELECT COUNT(*) FROM garage_change WHERE job_id = %s)", [job_id], models.IntegerField())
