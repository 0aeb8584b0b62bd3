"""A book of its own on the disk, as the backup meets it: a real database file, photographs, keys."""

import hashlib
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

from garage.backup.archive import Source
from garage.backup.soundness import Book, unsound
from garage.backup.sqlite_book import SqliteBook, rows_of
from garage.files.kept import files_in
from tests.browser.real_server import ROOT

# A photograph's row without the entry it belongs to would be refused; the backup asks for nothing but these columns.
PHOTOGRAPH = b"\xff\xd8 a photograph"
PAPER = b"%PDF-1.7 a paper"


def laid_out(folder: Path) -> Source:
    """The tables of this release, three readings, a photograph and a paper that the record names."""
    (folder / "files" / "documents").mkdir(parents=True)
    (folder / "files" / "documents" / "label.pdf").write_bytes(PAPER)
    (folder / "secret-key").write_text("a secret")
    with closing(sqlite3.connect(folder / "crankmark.sqlite3")) as book:
        book.execute("PRAGMA journal_mode=WAL")
        book.execute("CREATE TABLE django_migrations (id INTEGER PRIMARY KEY, app TEXT, name TEXT)")
        book.execute("INSERT INTO django_migrations (app, name) VALUES ('garage', '0001_the_workshop')")
        book.execute("CREATE TABLE jobs_issueddocument (id INTEGER PRIMARY KEY, file TEXT, sha256 TEXT)")
        book.execute(
            "INSERT INTO jobs_issueddocument (file, sha256) VALUES (?, ?)",
            ("documents/label.pdf", hashlib.sha256(PAPER).hexdigest()),
        )
        book.execute("CREATE TABLE readings (id INTEGER PRIMARY KEY, measured_deg REAL)")
        book.executemany("INSERT INTO readings (measured_deg) VALUES (?)", [(32.5,), (10.0,), (8.25,)])
        book.commit()
    return Source(folder, SqliteBook(folder / "crankmark.sqlite3"), lambda: files_in(folder / "files"), "1.0")


def unsound_in(folder: Path) -> list[str]:
    """What is wrong with the book that was restored into `folder`."""
    with closing(sqlite3.connect(folder / "crankmark.sqlite3")) as book:
        return unsound(Book(book.execute, set(rows_of(book)), lambda name: (folder / "files" / name).open("rb")))


def everything_in(folder: Path) -> dict[str, bytes]:
    return {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def managed(folder: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """`manage.py` on the book in `folder`, as a person calls it."""
    import os

    inherited = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "CRANKMARK_BACKUP")}
    return subprocess.run(
        [sys.executable, "manage.py", *arguments], cwd=ROOT, capture_output=True, text=True, check=False,
        env={**inherited, "CRANKMARK_DATA": str(folder), "SECRET_KEY": "a key for this test", **environment},
    )  # fmt: skip
