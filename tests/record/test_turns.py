"""On SQLite whoever writes takes a turn: in the order in which they came, and never longer than their transaction."""

import os
import threading
import time
from pathlib import Path

import pytest

from garage.record.sqlite.base import FILE, DatabaseWrapper, Turn


@pytest.fixture
def connection_to(tmp_path, settings, django_db_blocker):
    """A connection of its own to a book in the data folder, closed at the end."""
    settings.DATA_DIR = tmp_path
    opened = []

    def connect(folder: Path = tmp_path) -> DatabaseWrapper:
        given = {**settings.DATABASES["default"], "ENGINE": "garage.record.sqlite", "NAME": folder / "book.sqlite3"}
        given["OPTIONS"] = {"transaction_mode": "IMMEDIATE", "timeout": 20}
        connection = DatabaseWrapper({**_defaults(), **given}, alias="turns")
        connection.inc_thread_sharing()
        opened.append(connection)
        return connection

    with django_db_blocker.unblock():
        yield connect
        for connection in opened:
            connection.close()


def _defaults() -> dict:
    return {"AUTOCOMMIT": True, "ATOMIC_REQUESTS": False, "CONN_HEALTH_CHECKS": False, "TIME_ZONE": None}


def begin(connection):
    connection.ensure_connection()
    connection.set_autocommit(False, force_begin_transaction_with_broken_autocommit=True)


def end(connection):
    connection.commit()
    connection.set_autocommit(True)


def waiting(folder) -> int:
    """How many wait for the file, by the kernel's own list."""
    inode = f":{os.stat(folder / FILE).st_ino} "
    return sum("->" in line and inode in line for line in Path("/proc/locks").read_text().splitlines())


def wait_for(count, folder):
    until = time.monotonic() + 20
    while waiting(folder) < count and time.monotonic() < until:
        os.sched_yield()


@pytest.fixture
def first(connection_to):
    connection = connection_to()
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE said (words TEXT)")
    begin(connection)
    return connection


def test_those_who_wait_write_in_the_order_in_which_they_came(connection_to, first, tmp_path):
    others, hands = [connection_to() for _ in range(4)], []
    for number, outside in enumerate([False, True, False, True], start=1):

        def write(number=number, outside=outside, connection=others[number - 1]):
            if not outside:
                begin(connection)
            with connection.cursor() as cursor:
                cursor.execute("INSERT INTO said VALUES (%s)", [str(number)])
            if not outside:
                end(connection)

        hands.append(threading.Thread(target=write))
        hands[-1].start()
        wait_for(number, tmp_path)
    end(first)
    for hand in hands:
        hand.join(timeout=20)
    with first.cursor() as cursor:
        written = cursor.execute("SELECT words FROM said ORDER BY rowid").fetchall()
    assert [words for (words,) in written] == ["1", "2", "3", "4"]


@pytest.mark.parametrize("ends", [end, lambda connection: connection.rollback(), lambda connection: connection.close()])
def test_a_turn_ends_with_its_transaction_however_that_ends(ends, first, tmp_path):
    ends(first)
    next_one = Turn(tmp_path / FILE)
    hand = threading.Thread(target=next_one.take)
    hand.start()
    hand.join(timeout=20)
    assert next_one.is_mine
    next_one.give_back()


def test_whoever_only_reads_waits_for_nobody(connection_to, first):
    with connection_to().cursor() as cursor:
        assert cursor.execute("SELECT count(*) FROM said").fetchone() == (0,)


def test_a_file_outside_the_data_folder_is_written_without_a_turn(connection_to, first, tmp_path):
    (tmp_path / "elsewhere").mkdir()
    with connection_to(tmp_path / "elsewhere").cursor() as cursor:
        cursor.execute("CREATE TABLE copy (words TEXT)")
        cursor.execute("INSERT INTO copy VALUES ('kept')")
    assert not (tmp_path / "elsewhere" / FILE).exists()
