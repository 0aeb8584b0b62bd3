"""A backup: the whole book in one archive, made while people write, and either whole or not there.

A plain tar file, which any tool opens: `manifest.json` with the hash of each file, the database, and the folder of
photographs and documents as it is. Nothing of the record is ever taken away, and a file is on the disk before the
record names it: so the database is copied first, and every file it names is there when the files are read after it.
"""

import hashlib
import io
import json
import os
import shutil
import sqlite3
import tarfile
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from garage.files.atomic import reach_the_disk

MANIFEST, DATABASE, FILES = "manifest.json", "crankmark.sqlite3", "files"
# What opens the workshop to its tablets again; asked for by name, for whoever holds it can pass for the workshop.
KEYS = ("secret-key", "certificates")
NAME = "crankmark-%Y%m%d-%H%M%S.tar"
MAKING, PROVING = ".making-", ".proving-"
A_DAY = 24 * 60 * 60
FORMAT = 1
CHUNK = 1024 * 1024


class BackupError(Exception):
    """A backup that cannot be made, read or restored; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Source:
    """The workshop that is backed up: where it lies, and which release writes it."""

    folder: Path
    database: Path
    files: Path
    release: str


def make(source: Source, target: Path, *, at: datetime, with_keys: bool = False) -> Path:
    """The archive of `source`, made in the folder `target`; on the disk and named when this returns.

    Raises
    ------
    BackupError
        If it cannot be written. Nothing is left of it then.
    """
    final = target / f"{at.astimezone(UTC):{NAME}}"
    if not target.is_dir():
        # Never made here: where a disk is not plugged in, its folder would be made on the disk of the book.
        raise BackupError(f"The folder {target} is not there. Connect its disk, or make the folder.")
    _sweep(target)
    try:
        with tempfile.TemporaryDirectory(dir=target, prefix=MAKING) as scratch:
            written = Path(scratch) / "archive"
            _write(source, written, Path(scratch) / DATABASE, at, with_keys)
            os.link(written, final)
        reach_the_disk(target)
    except FileExistsError as problem:
        raise BackupError(f"{final} is there already. Try again in a second.") from problem
    except sqlite3.Error as problem:
        raise BackupError(f"The database {source.database} cannot be read ({problem}).") from problem
    except OSError as problem:
        raise BackupError(
            f"The backup cannot be written to {target} ({problem.strerror or problem}). "
            "Make room there, or name another folder in CRANKMARK_BACKUP."
        ) from problem
    return final


def _sweep(target: Path) -> None:
    """Take away what a backup left half made when its machine went off. One that is being made is never a day old."""
    for scratch in [*target.glob(f"{MAKING}*"), *target.glob(f"{PROVING}*")]:
        with suppress(OSError):
            if time.time() - scratch.stat().st_mtime > A_DAY:
                shutil.rmtree(scratch)


def _write(source: Source, archive: Path, snapshot: Path, at: datetime, with_keys: bool) -> None:
    tables = _copied_database(source.database, snapshot)
    contents: dict[str, dict[str, Any]] = {}
    with archive.open("xb") as opened:
        os.fchmod(opened.fileno(), 0o600)
        with tarfile.open(fileobj=opened, mode="w", format=tarfile.PAX_FORMAT) as tar:
            contents[DATABASE] = _added(tar, snapshot, DATABASE)
            snapshot.unlink()
            for file, name in _kept_files(source, with_keys):
                contents[name] = _added(tar, file, name)
            manifest = {
                "format": FORMAT,
                "made_at": at.astimezone(UTC).isoformat(),
                "release": source.release,
                "rows": tables,
                "files": contents,
            }
            _added_bytes(tar, json.dumps(manifest, indent=1).encode(), MANIFEST)
        opened.flush()
        os.fsync(opened.fileno())


def _copied_database(database: Path, copy: Path) -> dict[str, int]:
    """A copy of the database as of one moment, by SQLite's own backup interface; how many rows each table has in it."""
    uri = f"{database.as_uri()}?mode=ro"
    with closing(sqlite3.connect(uri, uri=True, timeout=20)) as live, closing(sqlite3.connect(copy)) as copied:
        # In one step: readers of a write-ahead log hold nobody up, and are not made to start again by writers.
        live.backup(copied)
        copied.execute("PRAGMA journal_mode=DELETE")
        return rows_of(copied)


def rows_of(database: sqlite3.Connection) -> dict[str, int]:
    """How many rows each table has."""
    names = database.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    counted = 'SELECT count(*) FROM "{}"'  # the names come out of the database itself
    return {name: database.execute(counted.format(name)).fetchone()[0] for (name,) in sorted(names)}


def _kept_files(source: Source, with_keys: bool) -> Iterator[tuple[Path, str]]:
    for file in _walked(source.files):
        yield file, f"{FILES}/{file.relative_to(source.files).as_posix()}"
    if with_keys:
        for name in KEYS:
            for file in _walked(source.folder / name):
                yield file, file.relative_to(source.folder).as_posix()


def _walked(place: Path) -> list[Path]:
    found = [place] if place.is_file() else sorted(place.rglob("*"))
    # What is just being written begins with a point, and has no name in the record yet.
    return [file for file in found if file.is_file() and not file.is_symlink() and not file.name.startswith(".")]


class _Hashed:
    """Reads a file and hashes what was read."""

    def __init__(self, file: IO[bytes]) -> None:
        self._file, self.digest = file, hashlib.sha256()

    def read(self, size: int = -1) -> bytes:
        part = self._file.read(size)
        self.digest.update(part)
        return part


def _added(tar: tarfile.TarFile, file: Path, name: str) -> dict[str, Any]:
    with file.open("rb") as opened:
        entry = tarfile.TarInfo(name)
        state = os.fstat(opened.fileno())
        entry.size, entry.mtime, entry.mode = state.st_size, int(state.st_mtime), 0o600
        hashed = _Hashed(opened)
        tar.addfile(entry, hashed)
    return {"bytes": entry.size, "sha256": hashed.digest.hexdigest()}


def _added_bytes(tar: tarfile.TarFile, content: bytes, name: str) -> None:
    entry = tarfile.TarInfo(name)
    entry.size, entry.mode = len(content), 0o600
    tar.addfile(entry, io.BytesIO(content))
