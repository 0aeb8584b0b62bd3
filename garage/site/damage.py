"""Whether the book in the data folder is whole: asked at the start, and now and then while it is open."""

import sqlite3
import time
from contextlib import closing
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection

from garage.files.storage import files_are_here, files_folder
from garage.site.data_folder import DataFolderError

# [seconds] Reading every page takes a second for some hundred megabytes: often enough to hear of damage the same day.
LOOKED_AT_EVERY = 600.0

_last_look: tuple[float, bool] | None = None


def refuse_a_damaged_book(database: Path, files: Path | None) -> None:
    """Do not open a workshop whose database is gone, empty or broken while its photographs and papers are there.

    Raises
    ------
    DataFolderError
        Saying which file it is and how the last backup comes back.
    """
    if not database.exists() or database.stat().st_size == 0:
        if files is not None and _holds_files(files):
            raise DataFolderError(
                f"The database {database} is {'empty' if database.exists() else 'missing'}, but there are photographs "
                f"and documents in {files}: this is no new workshop. {WAY_BACK}"
            )
        return
    try:
        # Not read-only: a write-ahead log that a power cut left behind is part of the book and is taken up here.
        with closing(sqlite3.connect(database, timeout=20)) as opened:
            found = opened.execute("PRAGMA quick_check(1)").fetchone()[0]
    except sqlite3.OperationalError as problem:
        # Locked or unreadable for now: whoever opens it next says so in words of their own.
        if "malformed" not in str(problem):
            return
        found = str(problem)
    except sqlite3.DatabaseError as problem:
        found = str(problem)
    if found != "ok":
        raise DataFolderError(f"The database {database} is damaged ({found.splitlines()[0]}). {WAY_BACK}")


def refuse_a_damaged_workshop() -> None:
    """The same for the workshop of these settings, and for a book that is not the one in force."""
    if connection.vendor == "sqlite":
        note = Path(settings.DATA_DIR) / MOVED_NOTE
        if note.exists():
            raise DataFolderError(
                f"{note.read_text().strip()} Set DATABASE_URL to its address. "
                f"To go on with the SQLite book as it was then, take away {note}."
            )
        database = Path(settings.DATABASES["default"]["NAME"])
        refuse_a_damaged_book(database, files_folder() if files_are_here() else None)
    elif UNFINISHED in connection.introspection.table_names():
        raise DataFolderError(
            "A restore or a move into this database did not end: the book in it is not whole. Start it again."
        )


# Left in the data folder of a SQLite book that was moved to PostgreSQL (garage/backup/moving.py).
MOVED_NOTE = "moved-to-postgresql"
# The table that stands in a database of PostgreSQL while it is being filled (garage/backup/unfinished.py).
UNFINISHED = "crankmark_unfinished"

WAY_BACK = (
    "Do not write to it. `manage.py backup --list` shows the backups. "
    "`manage.py restore ARCHIVE --to FOLDER` puts one into an empty folder."
)


def _holds_files(folder: Path) -> bool:
    return folder.is_dir() and any(path.is_file() for path in folder.rglob("*"))


def database_is_whole() -> bool:
    """Whether the open database answers and its pages are what they were, as of the last look."""
    global _last_look
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            if connection.vendor != "sqlite":
                return True
            if _last_look is None or time.monotonic() - _last_look[0] > LOOKED_AT_EVERY:
                cursor.execute("PRAGMA quick_check(1)")
                _last_look = time.monotonic(), cursor.fetchone() == ("ok",)
            return _last_look[1]
    except DatabaseError:
        return False
