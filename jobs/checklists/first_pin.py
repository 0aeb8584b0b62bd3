"""The way to a first PIN from a sheet, for a colleague who is asked for one."""

from urllib.parse import urlencode

from django.urls import reverse

from garage.people.models import Staff
from garage.people.queries import colleagues_without_pin
from jobs.checklists import queries
from jobs.job.models import Job


def first_pin_url(job: Job, kind: str, person: Staff) -> str:
    """Where a colleague sets the PIN that a second check asks for; empty where each has one."""
    if not colleagues_without_pin(person, "record_readings").exists():
        return ""
    return f"{reverse('people:first-pin')}?{urlencode({'next': queries.sheet_page(job, kind)})}"
