"""Asking for an export: on the trail, for everything leaves the house with it."""

import os
import subprocess
import sys
from pathlib import Path

from django.conf import settings
from django.db import transaction

from garage.export.finished import SAID
from garage.people.models import Workshop
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event


@transaction.atomic
def ask_for_export(*, actor: Actor, folder: Path) -> None:
    """Have the whole book written into `folder` by a process of its own, begun when the trail has it."""
    trail.write(Event.BOOK_EXPORTED, Workshop.objects.get(), "Whole book exported as open files", actor=actor)
    transaction.on_commit(lambda: _begin(folder))


def _begin(folder: Path) -> None:
    """Begin the command; what it says goes beside the exports, where the page reads it."""
    with (folder / SAID).open("w") as said:
        subprocess.Popen(  # noqa: S603 - our own command
            [sys.executable, str(Path(settings.BASE_DIR) / "manage.py"), "export_book", "--to", str(folder)],
            env={**os.environ, "CRANKMARK_DATA": str(settings.DATA_DIR)},
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
