"""Puts a backup into an empty folder."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from garage.backup.archive import BackupError
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
        made = parse_datetime(restored.made_at)
        self.stdout.write(
            f"The book as of {timezone.localtime(made):%Y-%m-%d %H:%M} is in {folder}: "
            f"{restored.files} files and {restored.rows} rows, each as it was.\n"
            f"Open it with CRANKMARK_DATA={folder} manage.py serve"
        )
