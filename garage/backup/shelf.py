"""The backups that lie in a place: which there are, which are proven and sent on, which are kept."""

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from garage.backup.archive import ENCRYPTED, NAME, NAMED
from garage.files.atomic import keep

PROVEN, SENT = ".proven", ".sent"


@dataclass(frozen=True, slots=True)
class Backup:
    """One archive. `proven_at` is when it was last restored for a proof; None if never."""

    name: str
    made_at: datetime
    size: int
    proven_at: datetime | None

    @property
    def is_encrypted(self) -> bool:
        return self.name.endswith(ENCRYPTED)


def backups(folder: Path) -> list[Backup]:
    """All that lie in `folder`, the newest first. None where the folder cannot be read: another disk may be away."""
    found = []
    try:
        for file in folder.iterdir():
            if made_at := made_at_by_name(file.name):
                found.append(Backup(file.name, made_at, file.stat().st_size, _moment(file, PROVEN, "proven_at")))
    except OSError:
        return []
    return newest_first(found)


def newest_first(found: Iterable[Backup]) -> list[Backup]:
    return sorted(found, key=lambda backup: backup.made_at, reverse=True)


def made_at_by_name(name: str) -> datetime | None:
    """When the archive of this name was made; None for something else that lies there too."""
    if not (named := NAMED.fullmatch(name)):
        return None
    try:
        return datetime.strptime(named[1], NAME).replace(tzinfo=UTC)
    except ValueError:
        return None


def note_proven(archive: Path, *, at: datetime) -> None:
    _note(archive, PROVEN, {"proven_at": at.astimezone(UTC).isoformat()})


def note_sent(archive: Path, *, to: str, at: datetime, failed: str = "") -> None:
    """Beside `archive`: that it lies in `to` as well, or the sentence why not."""
    _note(archive, SENT, {"to": to, "failed": failed, "sent_at": at.astimezone(UTC).isoformat()})


def why_not_sent(archive: Path, *, to: str) -> str | None:
    """The sentence why `archive` is not in `to`; empty if it was never tried there; None if it is there."""
    note = _noted(archive, SENT)
    if note.get("to") != to:
        return ""
    return note.get("failed") or None


def _note(archive: Path, kind: str, said: dict[str, str]) -> None:
    keep(archive.with_name(archive.name + kind), json.dumps(said).encode())


def _noted(archive: Path, kind: str) -> dict[str, str]:
    try:
        noted = json.loads(archive.with_name(archive.name + kind).read_text())
    except (OSError, ValueError):
        return {}
    return noted if isinstance(noted, dict) else {}


def _moment(archive: Path, kind: str, name: str) -> datetime | None:
    try:
        return datetime.fromisoformat(_noted(archive, kind)[name])
    except (ValueError, KeyError, TypeError):
        return None


def last_proven(found: list[Backup]) -> Backup | None:
    return next((backup for backup in found if backup.proven_at), None)


def not_kept(found: list[Backup], *, days: int, weeks: int, months: int) -> list[Backup]:
    """Those that are neither the newest proven one nor the newest of one of so many days, weeks and months."""
    kept = {backup.name for backup in [last_proven(found), *found[:1]] if backup}
    spans: list[tuple[int, Callable[[datetime], object]]] = [
        (days, lambda made: made.date()),
        (weeks, lambda made: made.isocalendar()[:2]),
        (months, lambda made: (made.year, made.month)),
    ]
    for many, span in spans:
        newest: dict[object, str] = {}
        for backup in found:
            newest.setdefault(span(backup.made_at), backup.name)
        kept |= set(list(newest.values())[:many])
    return [backup for backup in found if backup.name not in kept]


def take_away(folder: Path, backup: Backup) -> None:
    for kind in ("", PROVEN, SENT):
        (folder / (backup.name + kind)).unlink(missing_ok=True)
