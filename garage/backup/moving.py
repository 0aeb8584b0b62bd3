"""A SQLite book over to PostgreSQL: every row of every table, hashed on both sides, and whole there or not there.

The SQLite book is only read. Its write lock is held to the end, so that nothing is entered that would stay behind.
What was filled but not found equal is emptied again (`unfinished.py`), and the SQLite book stays in force.
"""

import os
import subprocess
import sys
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import dj_database_url
import psutil
from django.conf import settings
from django.db import DatabaseError, connections, models, transaction
from django.utils import timezone

from garage.backup.checks import missing_guards
from garage.backup.errors import BackupError
from garage.backup.fingerprints import columns_of, fingerprint, models_of_the_book, tables_of_nobody
from garage.backup.postgres_book import PostgresBook
from garage.backup.unfinished import being_filled, refuse_in_use
from garage.files.atomic import keep
from garage.finding.layout import TABLE as INDEX
from garage.site.damage import MOVED_NOTE, UNFINISHED

if TYPE_CHECKING:
    from collections.abc import Iterator

HERE, THERE = "default", "moved_to"


@dataclass(frozen=True, slots=True)
class Moved:
    """What went over."""

    tables: int
    rows: int


def move(url: str, say: Callable[[str], None]) -> Moved:
    """Fill the empty database at `url` with this workshop's SQLite book, and put it in force.

    Raises
    ------
    BackupError
        If it cannot be, or both are not equal afterwards. The database there is empty then, and this book in force.
    """
    there = refuse_what_cannot_be(url)
    with being_filled(there), _connected(url), _still():
        say("Making the tables.")
        _make_tables(url)
        if strangers := tables_of_nobody(HERE):
            raise BackupError(f"The table {strangers[0]} belongs to no part of this release. Nothing was moved.")
        try:
            with transaction.atomic(using=THERE):
                moved = _carry_over(say)
                _put_in_force()
        except DatabaseError as problem:
            raise _refused("the book", problem) from problem
    _leave_the_sqlite_book(there)
    return moved


def refuse_what_cannot_be(url: str) -> PostgresBook:
    """The database at `url`, if this book can be moved there now.

    Raises
    ------
    BackupError
        If not, with the reason.
    """
    there = PostgresBook.by_url(url)
    _refuse_an_open_book()
    refuse_in_use(there)
    return there


def _refuse_an_open_book() -> None:
    if connections[HERE].vendor != "sqlite":
        raise BackupError(
            "This workshop keeps its book in PostgreSQL already. Unset DATABASE_URL to move a SQLite book."
        )
    book = str(settings.DATABASES[HERE]["NAME"])
    for process in psutil.process_iter():
        try:
            is_open = process.pid != os.getpid() and any(file.path == book for file in process.open_files())
        except (psutil.Error, OSError):
            continue
        if is_open:
            raise BackupError(
                f"The workshop is open (process {process.pid}). End it first, so that nothing is left out."
            )


@contextmanager
def _connected(url: str) -> "Iterator[None]":
    """The database at `url`, under the name `THERE`."""
    found = {name: value for name, value in dj_database_url.parse(url).items() if value}
    connections.settings[THERE] = {**connections.settings[HERE], "OPTIONS": {}, "HOST": "", "CONN_MAX_AGE": 0, **found}
    try:
        yield
    finally:
        connections[THERE].close()
        del connections[THERE]
        del connections.settings[THERE]


@contextmanager
def _still() -> "Iterator[None]":
    """Nobody writes to the SQLite book within this: our own transaction begins with its write lock."""
    with transaction.atomic(using=HERE):
        yield


def _make_tables(url: str) -> None:
    # In a process whose only database is that one: a migration that forgot to ask which would write into this book.
    manage = Path(settings.BASE_DIR) / "manage.py"
    done = subprocess.run(  # noqa: S603 - our own command
        [sys.executable, str(manage), "migrate", "--no-input", "-v0"],
        env={**os.environ, "DATABASE_URL": url, "CRANKMARK_DATA": str(settings.DATA_DIR)},
        stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode != 0:
        said = done.stderr.strip().splitlines() or ["it ended without a word"]
        raise BackupError(f"The tables could not be made in PostgreSQL ({said[-1]}).")


def _carry_over(say: Callable[[str], None]) -> Moved:
    book = models_of_the_book()
    with connections[THERE].cursor() as cursor:
        # What the migrations entered by themselves gives way to what this book has. No row trigger fires at this.
        # The index of the search is filled by triggers as the rows come in.
        names = ", ".join(f'"{table}"' for table in [*(model._meta.db_table for model in book), INDEX])
        cursor.execute(f"TRUNCATE {names} RESTART IDENTITY")
    rows = 0
    for model in book:
        copied = _copied(model)
        rows += copied
        if copied:
            say(f"{model._meta.db_table}: {copied} rows")
    _continue_the_numbers()
    with connections[THERE].cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    if unequal := [model._meta.db_table for model in book if fingerprint(model, HERE) != fingerprint(model, THERE)]:
        raise BackupError(f"{', '.join(unequal[:3])} did not arrive as it was. The SQLite book stays in force.")
    if missing := missing_guards(connections[THERE]):
        raise BackupError(f"{missing[0]} The SQLite book stays in force.")
    return Moved(len(book), rows)


def _copied(model: type[models.Model]) -> int:
    """Copy the rows of `model`; how many they were."""
    import psycopg

    fields, target = columns_of(model), connections[THERE]
    columns = ", ".join(f'"{field.column}"' for field in fields)
    rows = model._base_manager.using(HERE).order_by().values_list(*(field.attname for field in fields))
    many, table = 0, model._meta.db_table
    try:
        with target.cursor() as cursor, cursor.copy(f'COPY "{table}" ({columns}) FROM STDIN') as copy:
            for row in rows.iterator(chunk_size=2000):
                copy.write_row([_prepared(field, value, target) for field, value in zip(fields, row, strict=True)])
                many += 1
    except (psycopg.Error, UnicodeError) as problem:
        # SQLite counts no letters of a text, and keeps some that are none.
        raise _refused(table, problem) from problem
    return many


def _prepared(field: "models.Field[Any, Any]", value: Any, target: Any) -> Any:
    if value is None and isinstance(field, models.JSONField) and not field.null:
        return target.ops.adapt_json_value(None, field.encoder)
    return field.get_db_prep_save(value, target)


def _continue_the_numbers() -> None:
    """Each table goes on counting where SQLite left off: the number of a row that is gone is not given twice."""
    with connections[HERE].cursor() as cursor:
        cursor.execute("SELECT name, seq FROM sqlite_sequence WHERE seq > 0")
        reached = dict(cursor.fetchall())
    with connections[THERE].cursor() as cursor:
        for model in models_of_the_book():
            if (table := model._meta.db_table) in reached:
                column = model._meta.pk.column
                cursor.execute("SELECT setval(pg_get_serial_sequence(%s, %s), %s)", [table, column, reached[table]])


def _put_in_force() -> None:
    with connections[THERE].cursor() as cursor:
        cursor.execute(f"DROP TABLE {UNFINISHED}")


def _leave_the_sqlite_book(there: PostgresBook) -> None:
    said = f"Moved to {there} on {timezone.localtime():%Y-%m-%d %H:%M}.\n"
    keep(Path(settings.DATA_DIR) / MOVED_NOTE, said.encode())


def _refused(what: str, problem: Exception) -> BackupError:
    said = str(problem).strip().splitlines()[0].rstrip(".")
    return BackupError(f"PostgreSQL refuses what {what} holds: {said}. The SQLite book stays in force.")
