"""What the inspection has found, for its own page and for the other rooms."""

from django.urls import reverse

from jobs.card.models import Job
from jobs.card.progress import StageProgress
from jobs.inspection.models import Fitness, InspectionVerdict


def verdict(job: Job) -> InspectionVerdict | None:
    """The last word on whether the engine is fit."""
    return job.inspection_verdicts.filter(successors=None).order_by("made_at").last()


def progress(job: Job) -> StageProgress:
    missing = []
    if not job.sweep_readings.exists():
        missing.append("a strobe sweep of the old advance")
    if not job.mark_checks.exists():
        missing.append("the timing mark proven with a piston stop")
    said = verdict(job)
    if said is None:
        missing.append("the verdict on the engine")
    elif said.fitness == Fitness.TALK_TO_OWNER:
        missing.append("the owner's word: the engine was found not ready")
    return StageProgress(
        missing=missing,
        done=3 - len(missing),
        total=3,
        next_label="Go on with the inspection" if missing else "",
        next_url=reverse("inspection:page", args=[job.code]) if missing else "",
    )
