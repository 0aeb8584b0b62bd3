"""Says what a sheet holds, from its PDF alone: for the day when that is all there is."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.settings_file.out_of_pdf import LARGEST_PDF, settings_in
from jobs.settings_file.reading import read_settings
from jobs.settings_file.refusals import SheetRefusedError
from jobs.settings_file.words import in_words


class Command(BaseCommand):
    help = "Say what a sheet that names a map holds: car, unit, map, entries in keying order, what the strobe showed."
    requires_system_checks = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, help="the sheet as PDF")
        parser.add_argument("--json", action="store_true", help="as JSON, by the published schema")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with options["file"].open("rb") as file:
                pdf = file.read(LARGEST_PDF + 1)
        except OSError as problem:
            raise CommandError(f"{options['file']} cannot be read: {problem.strerror}.") from problem
        try:
            said = read_settings(settings_in(pdf)).said
        except SheetRefusedError as refusal:
            raise CommandError(str(refusal)) from refusal
        if options["json"]:
            self.stdout.write(json.dumps(said, indent=1, ensure_ascii=False))
            return
        for line in in_words(said):
            # A sheet is anybody's: what would move the cursor or colour the console is not passed on.
            self.stdout.write("".join(sign if sign.isprintable() else " " for sign in line))
