"""Writes the whole book as open files into one archive."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.template.defaultfilters import filesizeformat
from django.utils import timezone

from garage.export import schema
from garage.export.archive import ExportError, write_book
from garage.export.finished import exports_folder


class Command(BaseCommand):
    help = "Write the whole book as open files (JSON, CSV, papers and photographs as they are) into one archive."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", type=Path, help="the folder for it (default: exports in the data folder)")
        parser.add_argument("--schema", action="store_true", help="only print the schema that this release would have")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["schema"]:
            self.stdout.write(json.dumps(schema.generated(), indent=1, ensure_ascii=False))
            return
        target = options["to"].resolve() if options["to"] else exports_folder()
        try:
            made = write_book(target, at=timezone.now())
        except ExportError as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(f"{made} ({filesizeformat(made.stat().st_size)}) holds the whole book. It is not encrypted.")
