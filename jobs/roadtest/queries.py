"""What the road has shown."""

from django.urls import reverse

from jobs.card.models import Job
from jobs.card.progress import StageProgress


def progress(job: Job) -> StageProgress:
    missing = [] if job.road_runs.filter(ended_at__isnull=False).exists() else ["a road test"]
    return StageProgress(
        missing=missing,
        done=1 - len(missing),
        total=1,
        next_label="Begin a road test" if missing else "",
        next_url=reverse("roadtest:page", args=[job.code]) if missing else "",
    )
