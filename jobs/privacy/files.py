"""Files of whoever was erased: off the disk, once no row names them any more."""

from django.core.files.storage import default_storage
from django.db import connection

from garage.export.finished import take_away_all
from garage.finding.index import tidy
from jobs.privacy.models import FileToRemove


def remove_files() -> None:
    """Take off the disk what no row names any more; done again for whatever an earlier time did not get to."""
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        with connection.cursor() as cursor:
            tidy()
            # Pages that were written again keep old words in their gaps, and the journal beside the book has old pages.
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    take_away_all()  # exports hold everybody
    for waiting in FileToRemove.objects.all():
        default_storage.delete(waiting.name)
        waiting.delete()
