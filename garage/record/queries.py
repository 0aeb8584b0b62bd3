"""The views of the trail: of one thing, and of one job."""

from django.db import models

from garage.record.models import TrailEntry, kind_of

SHOWN = 20


def changes_of(thing: models.Model) -> list[TrailEntry]:
    """The latest entries about `thing`, newest first."""
    found = TrailEntry.objects.filter(subject_kind=kind_of(thing), subject_id=thing.pk)
    return list(found.select_related("by", "device").order_by("-at", "-pk")[:SHOWN])


def trail_of_job(job_id: int) -> models.QuerySet[TrailEntry]:
    """Every entry of one job, in order: its journal."""
    return TrailEntry.objects.filter(job_id=job_id)
