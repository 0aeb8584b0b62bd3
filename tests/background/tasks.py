"""Work that a test puts in, in a real worker process: it writes down that it was begun, and does what it is told."""

import os
import time
from pathlib import Path

from django.core.management.base import CommandError
from django_tasks import task


@task()
def noted(file: str, first_lasts: float = 0.0) -> str:
    """Test errand."""
    noted_in = Path(file)
    is_first = not noted_in.exists()
    with noted_in.open("a") as opened:
        opened.write(f"begun by {os.getpid()}\n")
    if is_first:
        time.sleep(first_lasts)
    with noted_in.open("a") as opened:
        opened.write(f"done by {os.getpid()}\n")
    return "It is noted."


@task()
def refused() -> None:
    """Refused errand."""
    raise CommandError("The disk is away.")


@task()
def broken() -> None:
    """Broken errand."""
    raise KeyError("a name that is nobody's business")
