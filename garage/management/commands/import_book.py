"""Brings a book of open files into an empty workshop."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from garage.export.archive import ExportError
from garage.export.coming_in import bring_in


class Command(BaseCommand):
    help = "Bring an archive of export_book into this workshop, which must be empty. Compares every row and file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("archive", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            found = bring_in(options["archive"].resolve(), at=timezone.now())
        except ExportError as problem:
            raise CommandError(str(problem)) from problem
        made = parse_datetime(found.made_at)
        day = f"{timezone.localtime(made):%Y-%m-%d %H:%M}" if made else found.made_at
        self.stdout.write(f"The book of {day} is in: {found.rows} rows and {found.files} files, each as it was.")
        for sentence in found.damaged:
            self.stdout.write(f"As it was in the book already: {sentence}")
        self.stdout.write(
            "Nobody has a password or PIN yet. Set the owner's first, then the others' on the page Workshop:\n"
            f"  manage.py changepassword {found.owners[0]}"
        )
