"""The end of an erasing that was cut off between the book and the disk, as work in the background."""

from datetime import datetime

from django.utils import timezone
from django_tasks import task

from garage.background.queue import put_in
from jobs.privacy.files import remove_files
from jobs.privacy.models import FileToRemove


@task()
def rest_of_an_erasing(hour: str) -> str:
    """Files of an erased customer taken off the disk."""
    remove_files()
    return f"Taken off, {hour}."


def put_in_what_was_cut_off(now: datetime) -> None:
    """Put in, once an hour, the files that an erasing still has to take off the disk."""
    if FileToRemove.objects.exists():
        hour = f"{timezone.localtime(now):%Y-%m-%d %H}"
        put_in(rest_of_an_erasing, hour, hour=f"{hour}:00")
