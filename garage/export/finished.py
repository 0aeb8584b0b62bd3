"""The exports that lie ready in the data folder for the owner to take: the newest, and whether one is being made."""

import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings

from garage.export.archive import MAKING, NAME
from garage.files.atomic import private_folder

# What the process that makes one says.
SAID = "said.txt"
# Who makes one touches its scratch folder all the time; one that was not touched for so long is not being made.
SILENT = 10 * 60


@dataclass(frozen=True, slots=True)
class Finished:
    """One finished export."""

    file: Path
    made_at: datetime
    size: int


def exports_folder() -> Path:
    return private_folder(Path(settings.DATA_DIR) / "exports")


def finished() -> list[Finished]:
    """The finished exports, newest first."""
    found = []
    for file in exports_folder().glob("*.zip"):
        try:
            made_at = datetime.strptime(file.name, NAME).replace(tzinfo=UTC)
        except ValueError:
            continue
        found.append(Finished(file, made_at, file.stat().st_size))
    return sorted(found, key=lambda one: one.made_at, reverse=True)


def is_being_made() -> bool:
    now = time.time()
    return any(
        now - max(touched.stat().st_mtime for touched in [scratch, *scratch.iterdir()]) < SILENT
        for scratch in exports_folder().glob(f"{MAKING}*")
    )


def what_went_wrong() -> str:
    """What the last try said, if it ended without an export."""
    said = exports_folder() / SAID
    try:
        lines = said.read_text().strip().splitlines()
    except OSError:
        return ""
    last = lines[-1] if lines else ""
    return last.removeprefix("CommandError: ") if last and "holds the whole book" not in last else ""


def take_away_all() -> None:
    """Leave no export behind: they hold everything, whoever was erased since included."""
    for one in finished():
        one.file.unlink(missing_ok=True)
