"""What a book must answer besides its hashes: its steps are known here, and every file it names is there, unchanged."""

import hashlib
import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing
from pathlib import Path
from typing import Any

from django.apps import apps
from django.db import models
from django.db.migrations.loader import MigrationLoader

from garage.backup.archive import DATABASE, FILES


def unsound(folder: Path) -> list[str]:
    """Sentences of what is wrong with the book in `folder`; none for a sound one."""
    with closing(sqlite3.connect(folder / DATABASE)) as book:
        tables = {name for (name,) in book.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        return [*_later_steps(book), *damaged_files(book.execute, tables, folder / FILES)]


def _later_steps(book: sqlite3.Connection) -> list[str]:
    known = MigrationLoader(None).disk_migrations.keys()
    ours = {app for app, _ in known}
    applied = set(book.execute("SELECT app, name FROM django_migrations"))
    later = sorted(name for app, name in applied - known - _squashed() if app in ours)
    return [f"It was written by a later release (step {later[-1]}). Install that release first."] if later else []


def _squashed() -> set[tuple[str, str]]:
    replaced = MigrationLoader(None, replace_migrations=False).disk_migrations.values()
    return {pair for migration in replaced for pair in migration.replaces}


def damaged_files(ask: Callable[[str], Iterable[Any]], tables: set[str], files: Path) -> list[str]:
    """What the record names that is missing or, where its hash is kept, is not what it was.

    `ask` answers a query with rows; `tables` are those that the book has, for an older one has fewer.
    """
    wrong = []
    for model in apps.get_models():
        table = model._meta.db_table
        named = [field for field in model._meta.local_fields if isinstance(field, models.FileField)]
        if table not in tables or not named:
            continue
        has_hash = any(field.name == "sha256" for field in model._meta.local_fields)
        for field in named:
            # The hash is that of the model's first file; what is drawn from it is only looked for.
            sha256 = "sha256" if has_hash and field is named[0] else "NULL"
            asked = f'SELECT "{field.column}", {sha256} FROM "{table}"'  # noqa: S608 - both names are our own models'
            for name, kept in ask(asked):
                wrong += _damage(files / name, kept) if name else []
    return wrong


def _damage(file: Path, kept: str | None) -> list[str]:
    try:
        with file.open("rb") as opened:
            found = hashlib.file_digest(opened, "sha256").hexdigest() if kept else None
    except OSError:
        return [f"{file.name} is missing."]
    return [] if found == kept else [f"{file.name} is not as it was saved."]
