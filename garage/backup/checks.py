"""Whether the book in use is as it was written: its pages, what points where, its guards, and every file it names."""

from collections.abc import Iterable
from typing import Any

from django.core.files.storage import default_storage
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader

from garage.backup.soundness import Book, damaged_files
from garage.finding import index
from garage.record.triggers import OPERATIONS, KeepForEver, trigger_name

FOREIGN_KEYS = """
    SELECT c.conrelid::regclass::text, c.confrelid::regclass::text,
        (SELECT array_agg(a.attname::text ORDER BY k.place)
         FROM unnest(c.conkey) WITH ORDINALITY AS k(number, place)
         JOIN pg_attribute AS a ON a.attrelid = c.conrelid AND a.attnum = k.number),
        (SELECT array_agg(a.attname::text ORDER BY k.place)
         FROM unnest(c.confkey) WITH ORDINALITY AS k(number, place)
         JOIN pg_attribute AS a ON a.attrelid = c.confrelid AND a.attnum = k.number)
    FROM pg_constraint AS c JOIN pg_namespace AS n ON n.oid = c.connamespace
    WHERE c.contype = 'f' AND n.nspname = current_schema() ORDER BY 1, 2
"""


def problems_of_the_book() -> list[str]:
    """Sentences of what is not as it was; none for a sound book."""
    return [*_of_the_database(), *missing_guards(connection), *_of_the_search(), *_of_the_files()]


def _rows(query: str) -> Iterable[Any]:
    with connection.cursor() as cursor:
        cursor.execute(query)
        return cursor.fetchall()


def _of_the_database() -> list[str]:
    if connection.vendor == "postgresql":
        return [*_damage_the_server_saw(), *_stray_on_the_server()]
    pages = [line for (line,) in _rows("PRAGMA integrity_check(10)") if line != "ok"]
    stray = [_stray(table, other) for table, _, other, _ in _rows("PRAGMA foreign_key_check")]
    return [*(f"The database is damaged: {line}." for line in pages), *stray]


def _stray(table: str, other: str) -> str:
    return f"A row of {table} points to one that is not in {other}."


def _damage_the_server_saw() -> list[str]:
    """Where its pages have checksums, the server counts those that were not as written."""
    failures = _rows("SELECT coalesce(checksum_failures, 0) FROM pg_stat_database WHERE datname = current_database()")
    return [f"The server read {many} damaged pages of the database." for (many,) in failures if many]


def _stray_on_the_server() -> list[str]:
    """The server checks a reference when it is written, and never again: a mended disk or a switched-off trigger may
    have left one that leads nowhere."""
    asked = (
        "SELECT 1 FROM {table} AS a WHERE {columns} IS NOT NULL "
        "AND NOT EXISTS (SELECT 1 FROM {other} AS b WHERE {pairs}) LIMIT 1"
    )
    found = []
    for table, other, columns, others in _rows(FOREIGN_KEYS):
        pairs = " AND ".join(f'a."{mine}" = b."{theirs}"' for mine, theirs in zip(columns, others, strict=True))
        row = ", ".join(f'a."{column}"' for column in columns)
        if _rows(asked.format(table=table, other=other, columns=f"({row})", pairs=pairs)):
            found.append(_stray(table, other))
    return found


def missing_guards(database: BaseDatabaseWrapper) -> list[str]:
    """The triggers that a migration laid and that are not there."""
    query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    if database.vendor == "postgresql":
        query = "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'"
    with database.cursor() as cursor:
        cursor.execute(query)
        present = {name for (name,) in cursor.fetchall()}
    guarded = {
        operation.table
        for migration in MigrationLoader(database).disk_migrations.values()
        for operation in migration.operations
        if type(operation) is KeepForEver
    }
    return [
        *(
            f"The record of {table} is not guarded against {operation}: its trigger is gone."
            for table in sorted(guarded)
            for operation in OPERATIONS
            if trigger_name(table, operation) not in present
        ),
        *(
            f"What is written in {kept.table} is not found by the search: a trigger is gone."
            for kept in index.kept_tables()
            if not present.issuperset(kept.triggers)
        ),
    ]


def _of_the_search() -> list[str]:
    return [
        f"{many} rows of {table} are not in the search as they are: `manage.py rebuild_search` mends that."
        for table, many in index.differing().items()
    ]


def _of_the_files() -> list[str]:
    return damaged_files(Book(_rows, set(connection.introspection.table_names()), default_storage.open))
