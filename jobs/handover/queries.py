"""What is still missing before the car may leave, and what is due afterwards."""

from django.urls import reverse

from jobs.card.models import Job
from jobs.card.progress import StageProgress


def progress(job: Job) -> StageProgress:
    missing = []
    if not job.sign_offs.exists():
        missing.append("the signature of a second person")
    if not job.documents.filter(kind="customer sheet").exists():
        missing.append("the customer's sheet")
    return StageProgress(
        missing=missing,
        done=2 - len(missing),
        total=2,
        next_label="Hand the car over" if missing else "",
        next_url=reverse("handover:page", args=[job.code]) if missing else "",
    )


def after_care_progress(job: Job) -> StageProgress:
    return StageProgress()
