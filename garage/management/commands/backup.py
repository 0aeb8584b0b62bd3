"""Makes a backup of the workshop while it is open, and proves it by restoring it."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.template.defaultfilters import filesizeformat
from django.utils import timezone

from garage.backup import shelf
from garage.backup.archive import BackupError
from garage.backup.workshop import back_up, prune


class Command(BaseCommand):
    help = "Make a backup in one archive while people write, and prove it by restoring it into a scratch folder."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, help="the folder for it (default: CRANKMARK_BACKUP)")
        parser.add_argument("--with-keys", action="store_true", help="the certificates and the secret key too")
        parser.add_argument("--prune", action="store_true", help="take away those that CRANKMARK_BACKUP_KEEP lets go")
        parser.add_argument("--list", action="store_true", help="make none, but list those that are there")

    def handle(self, *args: Any, **options: Any) -> None:
        target = options["to"] or settings.BACKUP_FOLDER
        if target is None:
            raise CommandError("Name a folder on another disk, with --to or in CRANKMARK_BACKUP.")
        if options["list"]:
            return self._list(target)
        try:
            made = back_up(target.resolve(), with_keys=options["with_keys"])
        except BackupError as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(f"{made} ({filesizeformat(made.stat().st_size)}) is made, restored for a test, and sound.")
        # Nothing older is taken away while the book itself is not sound: the older one may be what is needed.
        call_command("check_record", stdout=self.stdout)
        if options["prune"]:
            for gone in prune(target.resolve()):
                self.stdout.write(f"{gone.name} is taken away: newer ones are kept.")
        return None

    def _list(self, target: Path) -> None:
        found = shelf.backups(target)
        for backup in found:
            made = timezone.localtime(backup.made_at)
            proof = "proven" if backup.proven_at else "not proven"
            self.stdout.write(f"{made:%Y-%m-%d %H:%M}  {filesizeformat(backup.size):>10}  {proof}  {backup.file}")
        if not found:
            self.stdout.write(f"No backups in {target}.")
