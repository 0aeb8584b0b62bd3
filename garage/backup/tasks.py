"""The backup of each night, as work in the background."""

from datetime import datetime, timedelta
from io import StringIO

from django.core.management import call_command
from django.utils import timezone
from django_tasks import task

from garage.background.queue import put_in
from garage.backup.workshop import NIGHT, is_due


@task()
def nightly_backup(night: str) -> str:
    """Nightly backup."""
    said = StringIO()
    call_command("backup", prune=True, stdout=said)
    lines = said.getvalue().strip().splitlines()
    return lines[0] if lines else f"Made for {night}."


def put_in_tonights(now: datetime) -> None:
    """Put in the backup of the last night, once, where it has not been made."""
    if is_due(now):
        night = f"{timezone.localtime(now) - timedelta(hours=NIGHT):%Y-%m-%d}"
        put_in(nightly_backup, night, night=night)
