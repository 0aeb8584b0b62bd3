"""How far a job's sheets are."""

from django.urls import reverse

from jobs.card.models import Job
from jobs.card.progress import StageProgress


def progress(job: Job) -> StageProgress:
    missing = [] if job.sheets.filter(kind="fitting").exists() else ["the fitting sheet"]
    return StageProgress(
        missing=missing,
        next_label="Open the fitting sheet" if missing else "",
        next_url=reverse("fitting:page", args=[job.code]) if missing else "",
    )
