"""Moves a SQLite workshop over to PostgreSQL."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from garage.backup.errors import BackupError
from garage.backup.moving import move, refuse_what_cannot_be
from garage.backup.workshop import back_up


class Command(BaseCommand):
    help = "Move this SQLite workshop into an empty database of PostgreSQL, and compare every row on both sides."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "url",
            help="the empty database: postgres://user@host/name; the password is read from ~/.pgpass or PGPASSWORD too",
        )
        parser.add_argument("--backup-to", type=Path, help="the folder for the backup before it (or CRANKMARK_BACKUP)")

    def handle(self, *args: Any, **options: Any) -> None:
        target = options["backup_to"] or settings.BACKUP_FOLDER
        if target is None:
            raise CommandError("A backup is made first: name a folder for it, with --backup-to or in CRANKMARK_BACKUP.")
        try:
            refuse_what_cannot_be(options["url"])
            made = back_up(target.resolve())
            self.stdout.write(f"{made.file} is made, restored for a test, and sound.")
            call_command("migrate", interactive=False, verbosity=0)
            moved = move(options["url"], self.stdout.write)
        except BackupError as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(
            f"{moved.rows} rows of {moved.tables} tables are in PostgreSQL, each equal to that in SQLite.\n"
            f"The photographs and documents stay in {settings.DATA_DIR}.\n"
            "Open the workshop with DATABASE_URL set to that address. The SQLite book is kept, but not opened again."
        )
