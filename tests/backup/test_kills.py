"""kill -9 in the middle of a backup, a restore, a move or an upgrade: nothing is lost, and nothing half made passes.

Each series first measures how long the work takes undisturbed, and then kills it at moments drawn from all of that.
One or two kills each; with `--long` fifty, and a table at the end (`pytest --long tests/backup/test_kills.py`).
"""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tarfile
import time
from contextlib import closing

import pytest

from garage.backup import archive, restoring, shelf, unfinished
from garage.backup.soundness import unsound
from tests.backup.book import everything_in, laid_out, managed, unsound_in
from tests.backup.postgres_server import asked, new_database, url_of
from tests.backup.test_archive import AT
from tests.backup.test_moving import command_of, dump, laid, tables_in  # noqa: F401 - fixtures
from tests.browser.real_server import ROOT
from tests.upgrade.test_first_release import PACKED

PHOTOGRAPHS, BYTES = 40, 1024 * 1024

MAKE = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from garage.backup.archive import Source, make
from garage.backup.sqlite_book import SqliteBook
from garage.files.kept import files_in
folder, target, second, words = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
print("begun", flush=True)
make(Source(folder, SqliteBook(folder / "crankmark.sqlite3"), lambda: files_in(folder / "files"), "1.0"), target,
     at=datetime(2026, 3, 4, 2, second // 60, second % 60, tzinfo=UTC), passphrase=words or None)
"""
RESTORE = """
import sys
from pathlib import Path
from garage.backup.postgres_book import PostgresBook
from garage.backup.restoring import restore
database = PostgresBook.by_url(sys.argv[3]) if sys.argv[3] else None
print("begun", flush=True)
restore(Path(sys.argv[1]), Path(sys.argv[2]), check=lambda book: [], database=database)
"""
# What `serve` does before it opens, but for the static files.
UPGRADE = """
import django
django.setup()
from garage.lan import ready
from garage.management.commands.serve import Command
ready.static_files_are_stale = lambda: False
print("begun", flush=True)
Command()._make_ready()
"""


class Series:
    """Kills of one kind of work, and what came of them."""

    def __init__(self, work, kills):
        self.work, self.kills, self.cut_off, self.finished, self.found_whole = work, kills, 0, 0, 0
        self._dice, self._whole = random.Random(work), None

    def run(self, command):
        """The work undisturbed, which says how long it takes."""
        began, ended = self._begun(command), None
        with began[1] as running:
            _, said = running.communicate()
            ended = time.monotonic()
        assert running.returncode == 0, said
        self._whole = ended - began[0]

    def kill(self, command):
        """The work killed at some moment between its beginning and its end."""
        _, running = self._begun(command)
        with running:
            time.sleep(self._dice.uniform(0, self._whole))
            running.send_signal(signal.SIGKILL)
            running.communicate()
        if running.returncode == -signal.SIGKILL:
            self.cut_off += 1
        else:
            assert running.returncode == 0
            self.finished += 1

    def _begun(self, command):
        running = subprocess.Popen(**command)
        assert running.stdout.readline() == "begun\n"
        return time.monotonic(), running

    def __str__(self):
        return f"{self.work:<28} {self.kills:>5} {self.cut_off:>8} {self.finished:>16} {self.found_whole:>12}"


@pytest.fixture(scope="module")
def table(request):
    """Prints what each series came to, after the last."""
    ran = []
    yield ran
    if request.config.getoption("long"):
        with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
            print(f"\n{'work':<28} {'kills':>5} {'cut off':>8} {'finished before':>16} {'found whole':>12}")
            for series in ran:
                print(series)


@pytest.fixture
def series(request, table):
    def begun(work, short):
        one = Series(work, 50 if request.config.getoption("long") else short)
        table.append(one)
        return one

    return begun


def code(text, *arguments, **environment):
    told = {"PATH": os.environ["PATH"], "SECRET_KEY": "a key", "DJANGO_SETTINGS_MODULE": "garage.site.settings"}
    return {
        "args": [sys.executable, "-c", text, *map(str, arguments)], "cwd": ROOT, "env": told | environment,
        "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True,
    }  # fmt: skip


@pytest.fixture
def source(tmp_path):
    made = laid_out(tmp_path / "data")
    (made.folder / "files" / "photographs").mkdir()
    for n in range(PHOTOGRAPHS):
        (made.folder / "files" / "photographs" / f"{n}.jpg").write_bytes(os.urandom(BYTES))
    return made


@pytest.mark.parametrize(("work", "words"), [("backup", ""), ("backup, encrypted", "four words nobody guesses")])
def test_a_backup_that_is_killed_is_no_backup_and_the_book_stays_as_it_was(source, tmp_path, series, work, words):
    target, ours, before = tmp_path / "shelf", series(work, 2), everything_in(source.folder / "files")
    target.mkdir()
    ours.run(code(MAKE, source.folder, target, 0, words))
    for n in range(1, ours.kills + 1):
        ours.kill(code(MAKE, source.folder, target, n, words))
    found = shelf.backups(target)
    assert 1 + ours.finished <= len(found) <= 1 + ours.kills
    for backup in found:
        restoring.prove(target / backup.name, check=unsound, passphrase=words or None)
    assert everything_in(source.folder / "files") == before
    made = archive.make(source, target, at=AT.replace(hour=3))
    assert restoring.prove(made, check=unsound).files == PHOTOGRAPHS + 2
    ours.found_whole = ours.kills


def test_a_restore_that_is_killed_leaves_no_half_book(source, tmp_path, series):
    target, ours = tmp_path / "shelf", series("restore", 2)
    target.mkdir()
    made = archive.make(source, target, at=AT)
    ours.run(code(RESTORE, made, tmp_path / "whole", ""))
    for n in range(ours.kills):
        folder = tmp_path / f"new{n}"
        ours.kill(code(RESTORE, made, folder, ""))
        if folder.exists():
            assert unsound_in(folder) == []
            assert len(list((folder / "files" / "photographs").iterdir())) == PHOTOGRAPHS
            shutil.rmtree(folder)
        for left in tmp_path.glob(f".new{n}-*"):
            shutil.rmtree(left)
        ours.found_whole += 1


def test_a_restore_into_postgresql_that_is_killed_leaves_no_half_book(source, tmp_path, series, server, tables):
    ours, shelf_folder = series("restore into PostgreSQL", 1), tmp_path / "shelf"
    shelf_folder.mkdir()
    on_server = archive.Source(source.folder, new_database(server, "book", like=tables.name), source.files, "1.0")
    made = archive.make(on_server, shelf_folder, at=AT)
    ours.run(code(RESTORE, made, tmp_path / "whole", url_of(new_database(server, "filled"))))
    for n in range(ours.kills):
        folder, target = tmp_path / f"new{n}", new_database(server, "filled")
        ours.kill(code(RESTORE, made, folder, url_of(target)))
        in_force = bool(tables_in(target)) and not unfinished.is_marked(target)
        if in_force:
            assert folder.exists()
        else:
            shutil.rmtree(folder, ignore_errors=True)
            restoring.restore(made, folder, check=lambda book: [], database=target)
        assert asked(target, "SELECT count(*) FROM auth_group") == [(3,)]
        assert len(list((folder / "files" / "photographs").iterdir())) == PHOTOGRAPHS
        shutil.rmtree(folder)
        ours.found_whole += 1


def test_a_move_that_is_killed_leaves_one_book_in_force_and_loses_nothing(laid, tmp_path, series, server, dump):  # noqa: F811
    ours = series("move_to", 1)
    ours.run(command_of(shutil.copytree(laid, tmp_path / "whole"), new_database(server, "moved"), dump))
    rows = rows_in(laid)
    for n in range(ours.kills):
        book, target = shutil.copytree(laid, tmp_path / f"book{n}"), new_database(server, "moved")
        ours.kill(command_of(book, target, dump))
        assert rows_in(book) == rows
        is_whole = bool(tables_in(target)) and not unfinished.is_marked(target)
        if not is_whole:
            assert not (book / "moved-to-postgresql").exists()
            again = subprocess.run(**command_of(book, target, dump), check=False)
            assert again.returncode == 0, again.stderr
        assert {name: asked(target, f'SELECT count(*) FROM "{name}"')[0][0] for name in rows} == rows
        shutil.rmtree(book)
        ours.found_whole += 1


def rows_in(folder):
    with closing(sqlite3.connect(folder / "crankmark.sqlite3")) as book:
        names = book.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' "
            "AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'garage_findable_%'"  # how SQLite keeps its index
        )
        return {name: book.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for (name,) in names.fetchall()}


def test_an_upgrade_that_is_killed_goes_on_at_the_next_start_and_loses_nothing(tmp_path, series):
    ours = series("upgrade, backup before it", 1)

    def first_release(name):
        with tarfile.open(PACKED) as packed:
            packed.extractall(tmp_path / name, filter="data")
        (tmp_path / name / "shelf").mkdir()
        return tmp_path / name / "data"

    def upgrade(folder):
        return code(UPGRADE, CRANKMARK_DATA=str(folder), CRANKMARK_BACKUP=str(folder.parent / "shelf"))

    whole = first_release("whole")
    papers = everything_in(whole / "files")
    ours.run(upgrade(whole))
    for n in range(ours.kills):
        folder = first_release(f"killed{n}")
        ours.kill(upgrade(folder))
        for backup in shelf.backups(folder.parent / "shelf"):
            restoring.prove(folder.parent / "shelf" / backup.name, check=lambda book: [])
        again = subprocess.run(**upgrade(folder), check=False)
        assert again.returncode == 0, again.stderr
        assert rows_of_facts(folder) == rows_of_facts(whole)
        assert everything_in(folder / "files") == papers
        assert managed(folder, "check_record").stdout == "The record is sound.\n"
        shutil.rmtree(folder.parent)
        ours.found_whole += 1


def rows_of_facts(folder):
    """Every row of every table; of the steps their names, for each has its own moment."""
    with closing(sqlite3.connect(folder / "crankmark.sqlite3")) as book:
        names = book.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
        asked_for = {name: "app, name" if name == "django_migrations" else "*" for (name,) in names.fetchall()}
        return {
            name: sorted(map(repr, book.execute(f'SELECT {what} FROM "{name}"'))) for name, what in asked_for.items()
        }
