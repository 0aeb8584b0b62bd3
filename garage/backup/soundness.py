"""What a book must answer besides its hashes: its steps are known here, and every file it names is there, unchanged."""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import IO, Any

from django.apps import apps
from django.db import models
from django.db.migrations.loader import MigrationLoader


@dataclass(frozen=True, slots=True)
class Book:
    """A book that is open: `ask` answers a query with rows, `tables` are those it has, `open_file` gives a kept file.

    An older book has fewer tables than this release.
    """

    ask: Callable[[str], Iterable[Any]]
    tables: set[str]
    open_file: Callable[[str], IO[bytes]]


def unsound(book: Book) -> list[str]:
    """Sentences of what is wrong with `book`; none for a sound one."""
    return [*_later_steps(book), *damaged_files(book)]


def _later_steps(book: Book) -> list[str]:
    known = MigrationLoader(None).disk_migrations.keys()
    ours = {app for app, _ in known}
    applied = set(book.ask("SELECT app, name FROM django_migrations"))
    later = sorted(name for app, name in applied - known - _squashed() if app in ours)
    return [f"It was written by a later release (step {later[-1]}). Install that release first."] if later else []


def _squashed() -> set[tuple[str, str]]:
    replaced = MigrationLoader(None, replace_migrations=False).disk_migrations.values()
    return {pair for migration in replaced for pair in migration.replaces}


def damaged_files(book: Book) -> list[str]:
    """What the record names that is missing or, where its hash is kept, is not what it was."""
    wrong = []
    for model in apps.get_models():
        table = model._meta.db_table
        named = [field for field in model._meta.local_fields if isinstance(field, models.FileField)]
        if table not in book.tables or not named:
            continue
        has_hash = any(field.name == "sha256" for field in model._meta.local_fields)
        for field in named:
            # The hash is that of the model's first file; what is drawn from it is only looked for.
            sha256 = "sha256" if has_hash and field is named[0] else "NULL"
            asked = f'SELECT "{field.column}", {sha256} FROM "{table}"'  # noqa: S608 - both names are our own models'
            for name, kept in book.ask(asked):
                wrong += _damage(book, name, kept) if name else []
    return wrong


def _damage(book: Book, name: str, kept: str | None) -> list[str]:
    try:
        with book.open_file(name) as opened:
            found = _hash_of(opened) if kept else None
    except OSError:
        return [f"{PurePosixPath(name).name} is missing."]
    return [] if found == kept else [f"{PurePosixPath(name).name} is not as it was saved."]


def _hash_of(opened: IO[bytes]) -> str:
    digest = hashlib.sha256()
    while part := opened.read(1024 * 1024):
        digest.update(part)
    return digest.hexdigest()
