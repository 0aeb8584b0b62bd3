"""The backups that lie in the second place: which there are, which are proven, which are kept."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from garage.backup.archive import NAME
from garage.files.atomic import keep

PROVEN = ".proven"


@dataclass(frozen=True, slots=True)
class Backup:
    """One archive on the shelf. `proven_at` is when it was last restored for a proof; None if never."""

    file: Path
    made_at: datetime
    size: int
    proven_at: datetime | None


def backups(folder: Path) -> list[Backup]:
    """All that lie in `folder`, the newest first. None where the folder cannot be read: another disk may be away."""
    try:
        found = [_backup(file) for file in folder.iterdir()]
    except OSError:
        return []
    return sorted(filter(None, found), key=lambda backup: backup.made_at, reverse=True)


def _backup(file: Path) -> Backup | None:
    try:
        made_at = datetime.strptime(file.name, NAME).replace(tzinfo=UTC)
        return Backup(file, made_at, file.stat().st_size, _proven_at(file))
    except (ValueError, OSError):  # something else that lies there too
        return None


def _proven_at(archive: Path) -> datetime | None:
    try:
        return datetime.fromisoformat(json.loads(_note(archive).read_text())["proven_at"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def note_proven(archive: Path, *, at: datetime) -> None:
    keep(_note(archive), json.dumps({"proven_at": at.astimezone(UTC).isoformat()}).encode())


def _note(archive: Path) -> Path:
    return archive.with_name(archive.name + PROVEN)


def last_proven(found: list[Backup]) -> Backup | None:
    return next((backup for backup in found if backup.proven_at), None)


def not_kept(found: list[Backup], *, days: int, weeks: int, months: int) -> list[Backup]:
    """Those that are neither the newest proven one nor the newest of one of so many days, weeks and months."""
    kept = {backup.file for backup in [last_proven(found), *found[:1]] if backup}
    spans: list[tuple[int, Callable[[datetime], object]]] = [
        (days, lambda made: made.date()),
        (weeks, lambda made: made.isocalendar()[:2]),
        (months, lambda made: (made.year, made.month)),
    ]
    for many, span in spans:
        newest: dict[object, Path] = {}
        for backup in found:
            newest.setdefault(span(backup.made_at), backup.file)
        kept |= set(list(newest.values())[:many])
    return [backup for backup in found if backup.file not in kept]


def take_away(backup: Backup) -> None:
    backup.file.unlink(missing_ok=True)
    _note(backup.file).unlink(missing_ok=True)
