"""The backups of this workshop: made, proven, listed and restored by its settings."""

from datetime import datetime, timedelta
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.utils import timezone

from garage.backup import archive, restoring, shelf
from garage.backup.archive import BackupError, Source
from garage.backup.soundness import unsound
from garage.files.storage import files_are_here, files_folder

TOO_OLD = timedelta(days=2)
# Tonight's is due from this hour on, by the workshop's clock: nobody writes then.
NIGHT = 2


def back_up(target: Path, *, with_keys: bool = False) -> Path:
    """Make a backup in `target`, prove it by restoring it, and say so beside it.

    Raises
    ------
    BackupError
        If it could not be made or proven. One that is not proven stays where it is, and counts for nothing.
    """
    made = archive.make(_this_workshop(), target, at=timezone.now(), with_keys=with_keys)
    restoring.prove(made, check=unsound)
    shelf.note_proven(made, at=timezone.now())
    return made


def _this_workshop() -> Source:
    if connection.vendor != "sqlite":
        raise BackupError(
            "This workshop keeps its book in PostgreSQL: back it up with `pg_dump`, "
            f"and the photographs and documents by copying {files_folder()} afterwards."
        )
    if not files_are_here():
        raise BackupError(
            "This workshop keeps its photographs and documents in an object store: turn on versions there, "
            "and copy its bucket by the store’s own means."
        )
    database = Path(settings.DATABASES["default"]["NAME"])
    if not database.exists():
        raise BackupError(f"There is no book in {settings.DATA_DIR} yet.")
    return Source(Path(settings.DATA_DIR), database, files_folder(), _release())


def _release() -> str:
    try:
        return version("crankmark")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "unknown"


def prune(target: Path) -> list[Path]:
    """Take away what the settings do not keep; which those were."""
    days, weeks, months = settings.BACKUP_KEEP
    gone = shelf.not_kept(shelf.backups(target), days=days, weeks=weeks, months=months)
    for backup in gone:
        shelf.take_away(backup)
    return [backup.file for backup in gone]


def restore(from_archive: Path, folder: Path) -> restoring.Restored:
    return restoring.restore(from_archive, folder, check=unsound)


def is_due(now: datetime) -> bool:
    """Whether a night has begun since the newest backup was made."""
    target = settings.BACKUP_FOLDER
    if target is None or connection.vendor != "sqlite":
        return False
    local = timezone.localtime(now)
    night = local.replace(hour=NIGHT, minute=0, second=0, microsecond=0)
    if local < night:
        night -= timedelta(days=1)
    found = shelf.backups(target)
    return not found or found[0].made_at < night


def is_on_the_disk_of_the_book(target: Path) -> bool:
    return target.stat().st_dev == Path(settings.DATA_DIR).stat().st_dev


def what_is_wrong(now: datetime) -> str:
    """One sentence for the owner about the backups; empty while all is well."""
    target = settings.BACKUP_FOLDER
    if connection.vendor != "sqlite":
        return ""
    if target is None:
        return "No backups are made: name a folder on another disk in CRANKMARK_BACKUP."
    if not target.is_dir():
        return f"The folder for backups, {target}, is not there. Connect its disk."
    if is_on_the_disk_of_the_book(target):
        return "Backups are kept on the disk of the book. Name a folder on another one in CRANKMARK_BACKUP."
    proven = shelf.last_proven(shelf.backups(target))
    if proven is None:
        return "No backup has been proven yet."
    if now - proven.made_at > TOO_OLD:
        return f"The last proven backup is {(now - proven.made_at).days} days old."
    return ""
