"""Puts a backup into an empty folder, and for PostgreSQL an empty database."""

from argparse import ArgumentParser
from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.backup.bucket import SCHEME
from garage.backup.erased import NAME, erased_since
from garage.backup.errors import BackupError
from garage.backup.postgres_book import PostgresBook
from garage.backup.workshop import restore


class Command(BaseCommand):
    help = "Put a backup into an empty or new folder. Nothing is ever restored over a book."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("archive", help="a file, or s3://BUCKET/KEY")
        parser.add_argument("--to", type=Path, required=True, help="an empty or new folder")
        parser.add_argument("--database", help="an empty database, for a book of PostgreSQL: postgres://user@host/name")
        parser.add_argument(
            "--passphrase-file",
            type=Path,
            help="what opens an encrypted one (default: CRANKMARK_BACKUP_PASSPHRASE_FILE)",
        )

        parser.add_argument(
            "--files-to",
            default="",
            help="an empty folder of a store, as in FILES_URL: the photographs and documents go there",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        folder, archive = options["to"].resolve(), options["archive"]
        try:
            database = PostgresBook.by_url(options["database"]) if options["database"] else None
            restored = restore(
                archive if archive.startswith(SCHEME) else Path(archive).resolve(),
                folder,
                database=database,
                passphrase_file=options["passphrase_file"],
                files_to=options["files_to"],
            )
        except BackupError as problem:
            raise CommandError(str(problem)) from problem
        made = datetime.fromisoformat(restored.made_at)
        address = ("DATABASE_URL=… " if database else "") + ("FILES_URL=… " if options["files_to"] else "")
        self.stdout.write(
            f"The book as of {timezone.localtime(made):%Y-%m-%d %H:%M} is in {folder}"
            f"{' and in the store' if options['files_to'] else ''}: "
            f"{restored.files} files and {restored.rows} rows, each as it was.\n"
            f"{self._erased_since(archive, made)}"
            f"Open it with {address}CRANKMARK_DATA={folder} manage.py serve"
        )

    def _erased_since(self, archive: str, made: datetime) -> str:
        """A line about customers who were erased after the backup was made, and are in it still."""
        shelf = settings.BACKUP_FOLDER if archive.startswith(SCHEME) else Path(archive).resolve().parent
        if shelf is None:
            return ""
        count = len(erased_since(shelf, made))
        return f"{count} customers were erased since. Erase them again: erase_again {shelf / NAME}\n" if count else ""
