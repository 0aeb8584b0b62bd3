"""A book kept by SQLite: copied while people write, and asked whether a copy of it is sound."""

import errno
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from garage.backup.errors import BackupError
from garage.backup.soundness import Book

DATABASE = "crankmark.sqlite3"


@dataclass(frozen=True, slots=True)
class SqliteBook:
    """The database in the file `file`."""

    file: Path

    def copied(self, folder: Path) -> tuple[Path, dict[str, Any]]:
        """A copy as of one moment, by SQLite's own backup interface; how many rows each table has in it."""
        copy = folder / DATABASE
        try:
            uri = f"{self.file.as_uri()}?mode=ro"
            with closing(sqlite3.connect(uri, uri=True, timeout=20)) as live, closing(sqlite3.connect(copy)) as copied:
                # In one step: readers of a write-ahead log hold nobody up, and are not made to start again by writers.
                live.backup(copied)
                copied.execute("PRAGMA journal_mode=DELETE")
                return copy, {"rows": rows_of(copied)}
        except sqlite3.Error as problem:
            if "disk is full" in str(problem):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) from problem
            raise BackupError(f"The database {self.file} cannot be read ({problem}).") from problem


def rows_of(database: sqlite3.Connection) -> dict[str, int]:
    """How many rows each table has."""
    names = database.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    counted = 'SELECT count(*) FROM "{}"'  # the names come out of the database itself
    return {name: database.execute(counted.format(name)).fetchone()[0] for (name,) in sorted(names)}


@contextmanager
def sound_book(archive: str, database: Path, manifest: dict[str, Any], files: Path) -> Iterator[Book]:
    """The restored `database`, whole and with as many rows as the manifest says, to be asked further.

    Raises
    ------
    BackupError
        If it is not.
    """
    try:
        with closing(sqlite3.connect(database)) as opened:
            whole = opened.execute("PRAGMA integrity_check(1)").fetchone()[0]
            stray = opened.execute("PRAGMA foreign_key_check").fetchone()
            rows = rows_of(opened)
            if whole != "ok" or stray or rows != manifest["rows"]:
                raise BackupError(f"The database in {archive} is not sound. Take another backup.")
            yield Book(opened.execute, set(rows), lambda name: (files / name).open("rb"))
    except sqlite3.Error as problem:
        raise BackupError(f"The database in {archive} cannot be read ({problem}). Take another backup.") from problem
