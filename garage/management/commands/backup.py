"""Makes a backup of the workshop while it is open, and proves it by restoring it."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

import psutil
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.template.defaultfilters import filesizeformat
from django.utils import timezone

from garage.backup import shelf
from garage.backup.errors import BackupError, NotSentError
from garage.backup.workshop import back_up, in_the_bucket, prune, prune_the_bucket


class Command(BaseCommand):
    help = "Make a backup in one archive while people write, and prove it by restoring it into a scratch folder."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, help="the folder for it (default: CRANKMARK_BACKUP)")
        parser.add_argument("--with-keys", action="store_true", help="the certificates and the secret key too")
        parser.add_argument(
            "--passphrase-file",
            type=Path,
            help="encrypt it with the first line of this file (default: CRANKMARK_BACKUP_PASSPHRASE_FILE)",
        )
        parser.add_argument("--prune", action="store_true", help="take away those that CRANKMARK_BACKUP_KEEP lets go")
        parser.add_argument("--list", action="store_true", help="make none, but list those that are there")

    def handle(self, *args: Any, **options: Any) -> None:
        target = options["to"] or settings.BACKUP_FOLDER
        if target is None:
            raise CommandError("Name a folder on another disk, with --to or in CRANKMARK_BACKUP.")
        try:
            if options["list"]:
                self._list(target.resolve())
            else:
                self._make(target.resolve(), options)
        except BackupError as problem:
            raise CommandError(str(problem)) from problem

    def _make(self, target: Path, options: dict[str, Any]) -> None:
        _stand_back()
        made = back_up(target, with_keys=options["with_keys"], passphrase_file=options["passphrase_file"])
        size = filesizeformat(made.file.stat().st_size)
        self.stdout.write(f"{made.file} ({size}) is made, restored for a test, and sound.")
        # Nothing older is taken away while the book itself is not sound: the older one may be what is needed.
        call_command("check_record", stdout=self.stdout)
        if options["prune"]:
            self._say_gone(prune(target))
        if made.not_sent:
            raise NotSentError(f"{made.not_sent} It stays in {target}.")
        if settings.BACKUP_BUCKET:
            self.stdout.write(f"It is in {settings.BACKUP_BUCKET} too.")
            if options["prune"]:
                self._say_gone(prune_the_bucket())

    def _say_gone(self, gone: list[str]) -> None:
        for place in gone:
            self.stdout.write(f"{place} is taken away: newer ones are kept.")

    def _list(self, target: Path) -> None:
        self._list_those(shelf.backups(target), str(target))
        if settings.BACKUP_BUCKET:
            self._list_those(in_the_bucket(), settings.BACKUP_BUCKET.rstrip("/"))

    def _list_those(self, found: list[shelf.Backup], place: str) -> None:
        for backup in found:
            made = timezone.localtime(backup.made_at)
            proof = "proven" if backup.proven_at else "not proven"
            size = filesizeformat(backup.size)
            self.stdout.write(f"{made:%Y-%m-%d %H:%M}  {size:>10}  {proof}  {place}/{backup.name}")
        if not found:
            self.stdout.write(f"No backups in {place}.")


def _stand_back() -> None:
    """Whoever ticks goes first, at the processor and at the disk; a backup has the whole night."""
    process = psutil.Process()
    process.nice(max(process.nice(), 10))
    if psutil.LINUX:
        process.ionice(psutil.IOPRIO_CLASS_IDLE)
