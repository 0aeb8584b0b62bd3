"""Whether the book in use is as it was written: its pages, what points where, its guards, and every file it names."""

from collections.abc import Iterable
from typing import Any

from django.core.files.storage import FileSystemStorage, default_storage
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from garage.backup.soundness import damaged_files
from garage.files.storage import files_folder
from garage.record.triggers import OPERATIONS, KeepForEver, trigger_name


def problems_of_the_book() -> list[str]:
    """Sentences of what is not as it was; none for a sound book."""
    return [*_of_the_database(), *_of_the_guards(), *_of_the_files()]


def _rows(query: str) -> Iterable[Any]:
    with connection.cursor() as cursor:
        cursor.execute(query)
        return cursor.fetchall()


def _of_the_database() -> list[str]:
    if connection.vendor != "sqlite":
        return []  # the server checks its pages and references by itself
    pages = [line for (line,) in _rows("PRAGMA integrity_check(10)") if line != "ok"]
    stray = [f"A row of {table} points to one that is not in {other}." for table, _, other, _ in _stray()]
    return [*(f"The database is damaged: {line}." for line in pages), *stray]


def _stray() -> Iterable[Any]:
    return _rows("PRAGMA foreign_key_check")


def _of_the_guards() -> list[str]:
    """The triggers that a migration laid and that are there no more."""
    query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    if connection.vendor == "postgresql":
        query = "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'"
    present = {name for (name,) in _rows(query)}
    guarded = {
        operation.table
        for migration in MigrationLoader(connection).disk_migrations.values()
        for operation in migration.operations
        if type(operation) is KeepForEver
    }
    return [
        f"The record of {table} is not guarded against {operation}: its trigger is gone."
        for table in sorted(guarded)
        for operation in OPERATIONS
        if trigger_name(table, operation) not in present
    ]


def _of_the_files() -> list[str]:
    if not isinstance(default_storage, FileSystemStorage):  # elsewhere than in a folder nothing can be hashed from here
        return []
    return damaged_files(_rows, set(connection.introspection.table_names()), files_folder())
