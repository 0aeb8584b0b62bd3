"""A data folder with the tables of this release, as `migrate` makes them: made once, copied for each test."""

import hashlib
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
DATABASE = "crankmark.sqlite3"
NOT_OURS = ("DATABASE_URL", "CRANKMARK_TEST_DB")
# Whose migrations are in it besides our own.
OTHERS = ("Django", "django-axes", "django-tasks-db")
# What our migrations have the database lay besides tables.
OPERATIONS = (
    "garage/record/triggers.py", "garage/finding/kept.py", "garage/finding/layout.py", "garage/finding/words.py",
    "garage/people/roles.py",
)  # fmt: skip


def lay_tables(folder: Path) -> None:
    """Put an empty book into `folder`, unless there is one. The migrations run once for all tests, not once each."""
    if not (folder / DATABASE).exists():
        folder.mkdir(parents=True, exist_ok=True)
        lay_book(folder / DATABASE)


def lay_book(file: Path) -> None:
    shutil.copyfile(_laid_once(), file)
    file.chmod(0o600)


def put_back(kept: Path, book: sqlite3.Connection) -> None:
    """Make `book` what `kept` is, whoever else has it open."""
    with closing(sqlite3.connect(kept)) as source:
        source.backup(book)


def _laid_once() -> Path:
    kept = Path(tempfile.gettempdir()) / f"crankmark-tables-{os.getuid()}-{_edition()}.sqlite3"
    if kept.exists():
        return kept
    with tempfile.TemporaryDirectory() as folder:
        inherited = {
            name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "CRANKMARK_TEST_DB")
        }
        subprocess.run(
            [sys.executable, "manage.py", "migrate", "-v0"],
            cwd=ROOT, check=True, env={**inherited, "CRANKMARK_DATA": folder, "SECRET_KEY": "a key for this test"},
        )  # fmt: skip
        # Of two workers that make it at once, the later puts the same over it.
        aside = kept.with_suffix(f".{os.getpid()}")
        shutil.copyfile(Path(folder) / DATABASE, aside)
        aside.chmod(0o600)
        aside.replace(kept)
    return kept


def _edition() -> str:
    """Another migration, or another operation of ours, other tables."""
    read = hashlib.sha256(" ".join(version(one) for one in OTHERS).encode())
    for house in ("garage", "jobs"):
        for file in sorted((ROOT / house / "migrations").glob("0*.py")):
            read.update(file.name.encode() + file.read_bytes())
    for operation in OPERATIONS:
        read.update((ROOT / operation).read_bytes())
    return read.hexdigest()[:16]
