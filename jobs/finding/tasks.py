"""Keeping the search quick, as work in the background."""

from datetime import datetime

from django.utils import timezone
from django_tasks import task

from garage.background.queue import put_in
from garage.finding.index import put_together, rooms_in_many_parts

NIGHT = 3  # [hour] when it is done; on a machine that is off by night, when it is on again


@task()
def search_put_together(night: str) -> str:
    """Search index put together."""
    put_together()
    return f"Done, {night}."


def put_in_putting_together(now: datetime) -> None:
    """Put it in once a night, where the index lies in many parts."""
    there = timezone.localtime(now)
    if there.hour >= NIGHT and rooms_in_many_parts():
        night = f"{there:%Y-%m-%d}"
        put_in(search_put_together, night, night=night)
