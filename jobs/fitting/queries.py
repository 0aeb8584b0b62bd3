"""How far the fitting of a job is."""

from jobs.checklists import queries as checklists
from jobs.checklists.models import SheetKind
from jobs.job.models import Job
from jobs.job.progress import StageProgress


def progress(job: Job) -> StageProgress:
    """A car leaves the stage once its fitting sheet is complete."""
    return checklists.sheet_progress(job, SheetKind.FITTING)
