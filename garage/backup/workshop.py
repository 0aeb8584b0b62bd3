"""The backups of this workshop: made, proven, sent on, listed and restored by its settings."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection
from django.utils import timezone

from garage.backup import archive, bucket, passphrase, restoring, shelf
from garage.backup.archive import Database, Source
from garage.backup.errors import BackupError, NotSentError
from garage.backup.postgres_book import PostgresBook
from garage.backup.soundness import unsound
from garage.backup.sqlite_book import SqliteBook
from garage.files.kept import kept_files

TOO_OLD = timedelta(days=2)
# Tonight's is due from this hour on, by the workshop's clock: nobody writes then.
NIGHT = 2
# Longer than any sending takes: after that, one of which nothing was noted was cut off.
SENDING = timedelta(hours=6)


@dataclass(frozen=True, slots=True)
class Made:
    """A backup that was made and proven. `not_sent` says why it is not in the bucket, where one is named."""

    file: Path
    not_sent: str


def back_up(target: Path, *, with_keys: bool = False, passphrase_file: Path | None = None) -> Made:
    """Make a backup in `target`, prove it by restoring it, say so beside it, and send it to the bucket if one is named.

    A bucket that does not take it changes nothing about the backup in `target`.

    Raises
    ------
    BackupError
        If it could not be made or proven. One that is not proven stays where it is, and counts for nothing.
    """
    words = passphrase.read(passphrase_file or settings.BACKUP_PASSPHRASE_FILE)
    source = _this_workshop()
    made = archive.make(source, target, at=timezone.now(), with_keys=with_keys, passphrase=words)
    server = source.database if isinstance(source.database, PostgresBook) else None
    beside = source.folder if words else None
    restoring.prove(made, check=unsound, database=server, passphrase=words, beside=beside)
    shelf.note_proven(made, at=timezone.now())
    return Made(made, _sent(made) if settings.BACKUP_BUCKET else "")


def _sent(made: Path) -> str:
    """Send `made` to the bucket and note what came of it; the sentence why not, if it could not be sent."""
    failed = ""
    try:
        bucket.send(made, bucket.Place.named(settings.BACKUP_BUCKET))
    except BackupError as problem:
        failed = str(problem)
    shelf.note_sent(made, to=settings.BACKUP_BUCKET, at=timezone.now(), failed=failed)
    return failed


def left_to_send(now: datetime) -> str:
    """The newest proven backup, by name, where the bucket refused it or its sending was cut off; else empty."""
    target, elsewhere = settings.BACKUP_FOLDER, settings.BACKUP_BUCKET
    proven = shelf.last_proven(shelf.backups(target)) if target and elsewhere else None
    if target is None or proven is None or proven.proven_at is None:
        return ""
    why = shelf.why_not_sent(target / proven.name, to=elsewhere)
    was_cut_off = why == "" and now - proven.proven_at > SENDING
    return proven.name if why or was_cut_off else ""


def send_on(name: str) -> str:
    """Send the backup of this `name` to the bucket once more; what came of it, in a sentence.

    Raises
    ------
    NotSentError
        If the bucket did not take it this time either.
    """
    target = settings.BACKUP_FOLDER
    made = target / name if target else None
    if made is None or not made.exists():
        return "A newer backup has taken its place."
    if failed := _sent(made):
        raise NotSentError(failed)
    prune_the_bucket()
    return f"It is in {settings.BACKUP_BUCKET} now."


def this_database() -> Database:
    """Where this workshop keeps its book."""
    if connection.vendor == "postgresql":
        return PostgresBook.by_settings(connection.settings_dict)
    return SqliteBook(Path(connection.settings_dict["NAME"]))


def _this_workshop() -> Source:
    database = this_database()
    if isinstance(database, SqliteBook) and not database.file.exists():
        raise BackupError(f"There is no book in {settings.DATA_DIR} yet.")
    return Source(Path(settings.DATA_DIR), database, lambda: kept_files(default_storage), _release())


def _release() -> str:
    try:
        return version("crankmark")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "unknown"


def prune(target: Path) -> list[str]:
    """Take away what the settings do not keep in `target`; where those lay."""
    gone = _not_kept(shelf.backups(target))
    for backup in gone:
        shelf.take_away(target, backup)
    return [str(target / backup.name) for backup in gone]


def prune_the_bucket() -> list[str]:
    """Take away what the settings do not keep in the bucket; where those lay.

    Raises
    ------
    BackupError
        If it does not answer.
    """
    place, gone = bucket.Place.named(settings.BACKUP_BUCKET), _not_kept(in_the_bucket())
    for backup in gone:
        bucket.take_away(backup.name, place)
    return [f"{place}{backup.name}" for backup in gone]


def _not_kept(found: list[shelf.Backup]) -> list[shelf.Backup]:
    days, weeks, months = settings.BACKUP_KEEP
    return shelf.not_kept(found, days=days, weeks=weeks, months=months)


def in_the_bucket() -> list[shelf.Backup]:
    """The backups in the bucket, the newest first; only what was proven is ever sent there.

    Raises
    ------
    BackupError
        If it does not answer.
    """
    found = bucket.listed(bucket.Place.named(settings.BACKUP_BUCKET))
    return shelf.newest_first(
        shelf.Backup(stored.name, made_at, stored.size, made_at)
        for stored in found
        if (made_at := shelf.made_at_by_name(stored.name))
    )


def restore(
    from_archive: Path | str,
    folder: Path,
    *,
    database: PostgresBook | None,
    passphrase_file: Path | None,
    files_to: str = "",
) -> restoring.Restored:
    """Put a backup into `folder`, its photographs and documents into the store at `files_to` where one is named.

    Raises
    ------
    BackupError
        If it cannot be restored. Nothing is left of it then.
    """
    words = passphrase.read(passphrase_file or settings.BACKUP_PASSPHRASE_FILE)
    files_into = _into_the_store(files_to) if files_to else None
    return restoring.restore(
        from_archive, folder, check=unsound, database=database, passphrase=words, files_into=files_into
    )


def _into_the_store(url: str) -> Callable[[Path], AbstractContextManager[None]]:
    try:
        from garage.backup import into_a_store
    except ImportError as problem:
        raise BackupError("A bucket needs one more package: pip install '.[s3]'.") from problem
    return partial(into_a_store.moved_into, into_a_store.store_at(url))


def is_due(now: datetime) -> bool:
    """Whether a night has begun since the newest backup was made."""
    target = settings.BACKUP_FOLDER
    if target is None:
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
    if target is None:
        return "No backups are made: name a folder on another disk in CRANKMARK_BACKUP."
    if not target.is_dir():
        return f"The folder for backups, {target}, is not there. Connect its disk."
    elsewhere = settings.BACKUP_BUCKET
    if not elsewhere and is_on_the_disk_of_the_book(target):
        return "Backups are kept on the disk of the book. Name a folder on another one in CRANKMARK_BACKUP."
    proven = shelf.last_proven(shelf.backups(target))
    if proven is None:
        return "No backup has been proven yet."
    if now - proven.made_at > TOO_OLD:
        return f"The last proven backup is {(now - proven.made_at).days} days old."
    if elsewhere and (why := shelf.why_not_sent(target / proven.name, to=elsewhere)) is not None:
        return why or f"The last proven backup has not been sent to {elsewhere} yet."
    return ""
