"""Does what waits in the background: on the machine that serves, or on one of its own."""

import os
import signal
import threading
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from garage.background.worker import work


class Command(BaseCommand):
    help = "Do the workshop's work in the background, such as the nightly backup, until ended by Ctrl-C."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--until-empty", action="store_true", help="end when nothing is ready")
        parser.add_argument(
            "--with-its-parent",
            action="store_true",
            help="end when standard input does: so `manage.py serve` takes its worker with it, however it ends",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["with_its_parent"]:
            threading.Thread(target=_end_with_the_parent, daemon=True).start()
        try:
            work(self._say, until_empty=options["until_empty"])
        except DatabaseError as problem:
            raise CommandError(f"The database does not answer as it should: {problem}") from problem

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _end_with_the_parent() -> None:
    while os.read(0, 1):
        pass
    # What was in hand is taken up by the next worker; a second signal would be needed to break it off.
    os.kill(os.getpid(), signal.SIGKILL)
