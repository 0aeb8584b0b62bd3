"""`manage.py backup` and `manage.py restore`, as a person calls them, on a whole demo of tables."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest

from tests.backup.book import everything_in, managed
from tests.browser.real_server import ROOT
from tests.tables import lay_tables


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """The tables of this release, empty."""
    folder = tmp_path_factory.mktemp("book")
    lay_tables(folder)
    return folder


def test_a_workshop_is_backed_up_proven_listed_and_restored(book, tmp_path):
    shelf = str(tmp_path / "shelf")
    (tmp_path / "shelf").mkdir()
    made = managed(book, "backup", CRANKMARK_BACKUP=shelf)
    assert made.returncode == 0, made.stderr
    assert "is made, restored for a test, and sound" in made.stdout
    listed = managed(book, "backup", "--list", CRANKMARK_BACKUP=shelf).stdout
    assert "proven" in listed
    archive = listed.split()[-1]
    back = managed(book, "restore", archive, "--to", str(tmp_path / "new"))
    assert back.returncode == 0, back.stderr
    assert "each as it was" in back.stdout
    assert managed(tmp_path / "new", "migrate", "--check").returncode == 0
    with closing(sqlite3.connect(tmp_path / "new" / "crankmark.sqlite3")) as restored:
        assert restored.execute("SELECT count(*) FROM auth_group").fetchone() == (3,)


def test_a_book_is_never_restored_over(book, tmp_path):
    managed(book, "backup", "--to", str(tmp_path))
    archive = next(tmp_path.glob("*.tar"))
    before = everything_in(book)
    answer = managed(book, "restore", str(archive), "--to", str(book))
    assert answer.returncode == 1
    assert "is not empty" in answer.stderr
    assert everything_in(book) == before


@pytest.mark.parametrize("arguments", [["backup"], ["backup", "--list"]])
def test_without_a_place_for_it_the_command_says_how_to_name_one(book, arguments):
    answer = managed(book, *arguments)
    assert (answer.returncode, "CRANKMARK_BACKUP" in answer.stderr, "Traceback" in answer.stderr) == (1, True, False)


def test_a_folder_without_a_book_is_said(tmp_path):
    answer = managed(tmp_path / "empty", "backup", "--to", str(tmp_path))
    assert "There is no book" in answer.stderr


def test_a_backup_stands_back_behind_whoever_ticks(book, tmp_path):
    """Linux, ioprio_set(2): class 3 is idle, served when nobody else asks the disk."""
    code = (
        "import sys, psutil, django; django.setup(); from django.core.management import call_command; "
        "call_command('backup', '--to', sys.argv[1]); "
        "process = psutil.Process(); print(process.nice() >= 10, int(process.ionice().ioclass))"
    )
    environment = {**os.environ, "CRANKMARK_DATA": str(book), "DJANGO_SETTINGS_MODULE": "garage.site.settings"}
    environment.pop("DATABASE_URL", None)
    done = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.splitlines()[-1] == "True 3"
