"""Reading a log in the background."""

from django_tasks import task

from jobs.roadlogs.importing import read_in


@task()
def read_road_log(log: int, tries: int) -> str:
    """Read a road log."""
    return read_in(log_id=log, tries=tries)
