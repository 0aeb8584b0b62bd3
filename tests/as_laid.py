"""The database of the tests, as the migrations left it: after a test that really commits it is that again."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from django.db import connection
from django.test import TransactionTestCase

from garage.finding.layout import TABLE as INDEX
from tests.tables import put_back


def on_sqlite() -> bool:
    return connection.vendor == "sqlite"


def book_of_the_tests() -> Path:
    return Path(connection.settings_dict["TEST"]["NAME"])


@contextmanager
def kept_as_laid(book: Path) -> Iterator[None]:
    """Until the block ends a transactional test leaves `book` as it is now. The file goes with the block.

    Django would empty each table row by row instead, which the kept record refuses, and make permissions anew.
    """
    connection.close()
    laid = Path(f"{book}.laid")
    shutil.copyfile(book, laid)

    def restored(_: TransactionTestCase) -> None:
        connection.ensure_connection()
        put_back(laid, connection.connection)

    try:
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(TransactionTestCase, "_fixture_teardown", restored)
            yield
    finally:
        connection.close()
        for file in (laid, book, Path(f"{book}-wal"), Path(f"{book}-shm")):
            file.unlink(missing_ok=True)


def search_emptied() -> None:
    """PostgreSQL's truncating fires no trigger that would empty the index, and the index is no model's table."""
    with connection.cursor() as cursor:
        cursor.execute(f"TRUNCATE {INDEX}")
