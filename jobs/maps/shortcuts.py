"""Finding the job and the version a page is about, or nothing at all."""

from django.http import Http404

from jobs.job.models import Job
from jobs.job.pages import job_for
from jobs.maps.models import MapVersion


def job_and_version(code: str, number: int) -> tuple[Job, MapVersion]:
    """The version of this job, or a 404."""
    job = job_for(code)
    try:
        version = job.map_versions.with_people().get(number=number)
    except MapVersion.DoesNotExist:
        raise Http404 from None
    version.job = job  # with its car already fetched
    return job, version


def released_version(code: str, number: int) -> tuple[Job, MapVersion]:
    """As `job_and_version`, and a 404 for a draft: it cannot be keyed in."""
    job, version = job_and_version(code, number)
    if version.released_at is None:
        raise Http404
    return job, version
