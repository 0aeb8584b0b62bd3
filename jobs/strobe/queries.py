"""What the strobe has shown."""

from django.urls import reverse

from jobs.card.models import Job
from jobs.card.progress import StageProgress


def progress(job: Job) -> StageProgress:
    missing = []
    if not job.strobe_sittings.filter(purpose="base timing").exists():
        missing.append("the base timing proven with the strobe")
    if not job.clamp_checks.exists():
        missing.append("the clamp tightened and read again")
    return StageProgress(
        missing=missing,
        done=2 - len(missing),
        total=2,
        next_label="Read the strobe" if missing else "",
        next_url=reverse("strobe:page", args=[job.code]) if missing else "",
    )
