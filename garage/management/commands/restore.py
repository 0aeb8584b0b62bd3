"""Puts a backup into an empty folder."""

from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.backup.archive import BackupError
from garage.backup.erased import NAME, erased_since
from garage.backup.workshop import restore


class Command(BaseCommand):
    help = "Put a backup into an empty or new folder. Nothing is ever restored over a book."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("archive", type=Path)
        parser.add_argument("--to", type=Path, required=True, help="an empty or new folder")

    def handle(self, *args: Any, **options: Any) -> None:
        folder = options["to"].resolve()
        try:
            restored = restore(options["archive"].resolve(), folder)
        except BackupError as problem:
            raise CommandError(str(problem)) from problem
        made = datetime.fromisoformat(restored.made_at)
        self.stdout.write(
            f"The book as of {timezone.localtime(made):%Y-%m-%d %H:%M} is in {folder}: "
            f"{restored.files} files and {restored.rows} rows, each as it was.\n"
            f"{self._erased_since(options['archive'].resolve().parent, made)}"
            f"Open it with CRANKMARK_DATA={folder} manage.py serve"
        )

    def _erased_since(self, shelf: Path, made: datetime) -> str:
        """A line about customers who were erased after the backup was made, and are in it still."""
        count = len(erased_since(shelf, made))
        return f"{count} customers were erased since. Erase them again: erase_again {shelf / NAME}\n" if count else ""
