"""Lists that nobody brought in go by themselves: they hold names, and are no part of the book."""

from datetime import datetime

from django.utils import timezone
from django_tasks import task

from garage.arrivals.waiting import drop_old, some_are_old
from garage.background.queue import put_in


@task()
def remove_old_lists(hour: str) -> str:
    """Remove lists that were not brought in."""
    return f"{drop_old(timezone.now())} removed."


def put_in_removal(now: datetime) -> None:
    """Put in the removal, once an hour, where there is something to remove."""
    if some_are_old(now):
        hour = f"{now:%Y-%m-%dT%H}"
        put_in(remove_old_lists, hour, hour=hour)
