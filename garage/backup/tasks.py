"""The backup of each night, and its way to the bucket, as work in the background."""

from datetime import datetime, timedelta
from io import StringIO

from django.core.management import CommandError, call_command
from django.utils import timezone
from django_tasks import task

from garage.background.queue import put_in
from garage.backup.errors import NotSentError
from garage.backup.workshop import NIGHT, is_due, left_to_send, send_on


@task()
def nightly_backup(night: str) -> str:
    """Nightly backup."""
    said = StringIO()
    try:
        call_command("backup", prune=True, stdout=said)
    except CommandError as problem:
        # What is made and proven is not made again for the bucket's sake: it is only sent again.
        if not isinstance(problem.__cause__, NotSentError):
            raise
    lines = said.getvalue().strip().splitlines()
    return lines[0] if lines else f"Made for {night}."


def put_in_tonights(now: datetime) -> None:
    """Put in the backup of the last night, once, where it has not been made."""
    if is_due(now):
        night = f"{timezone.localtime(now) - timedelta(hours=NIGHT):%Y-%m-%d}"
        put_in(nightly_backup, night, night=night)


@task()
def backup_to_the_bucket(name: str) -> str:
    """Backup sent to the bucket."""
    return send_on(name)


def put_in_what_was_not_sent(now: datetime) -> None:
    """Put in the sending of the newest proven backup, once, where the bucket did not take it."""
    if name := left_to_send(now):
        put_in(backup_to_the_bucket, name, name=name)
