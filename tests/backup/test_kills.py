"""A backup or a restore that is killed leaves the book as it was, and nothing that passes for a backup or a book.

Twice each; `CRANKMARK_KILLS=50` kills as often.
"""

import os
import random
import signal
import subprocess
import sys
import time

import pytest

from garage.backup import archive, restoring, shelf
from garage.backup.soundness import unsound
from tests.backup.book import laid_out, unsound_in
from tests.backup.test_archive import AT
from tests.browser.real_server import ROOT

KILLS = int(os.environ.get("CRANKMARK_KILLS", "2"))
PHOTOGRAPHS, BYTES = 40, 1024 * 1024

MAKE = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from garage.backup.archive import Source, make
from garage.backup.sqlite_book import SqliteBook
from garage.files.kept import files_in
folder, target, second = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
print("begun", flush=True)
make(Source(folder, SqliteBook(folder / "crankmark.sqlite3"), lambda: files_in(folder / "files"), "1.0"), target,
     at=datetime(2026, 3, 4, 2, second // 60, second % 60, tzinfo=UTC))
"""
RESTORE = """
import sys
from pathlib import Path
from garage.backup.restoring import restore
print("begun", flush=True)
restore(Path(sys.argv[1]), Path(sys.argv[2]), check=lambda book: [])
"""


@pytest.fixture
def source(tmp_path):
    made = laid_out(tmp_path / "data")
    (made.folder / "files" / "photographs").mkdir()
    for n in range(PHOTOGRAPHS):
        (made.folder / "files" / "photographs" / f"{n}.jpg").write_bytes(os.urandom(BYTES))
    return made


def killed(code, *arguments, after):
    """Run `code` and kill it `after` so many seconds from its beginning; whether it was still running then."""
    running = subprocess.Popen([sys.executable, "-c", code, *map(str, arguments)], cwd=ROOT, stdout=subprocess.PIPE)
    with running:
        assert running.stdout.readline() == b"begun\n"
        time.sleep(after)
        running.send_signal(signal.SIGKILL)
        running.wait()
    return running.returncode == -signal.SIGKILL


def test_a_backup_that_is_killed_is_no_backup_and_the_book_stays_sound(source, tmp_path):
    target, dice, cut_off = tmp_path / "shelf", random.Random(11), 0
    target.mkdir()
    for n in range(KILLS):
        cut_off += killed(MAKE, source.folder, target, n, after=dice.uniform(0, 0.15))
    assert cut_off
    for backup in shelf.backups(target):
        restoring.prove(target / backup.name, check=unsound)
    made = archive.make(source, target, at=AT.replace(hour=3))
    assert restoring.prove(made, check=unsound).files == PHOTOGRAPHS + 2


def test_a_restore_that_is_killed_leaves_no_half_book(source, tmp_path):
    target, dice, cut_off = tmp_path / "shelf", random.Random(12), 0
    target.mkdir()
    made = archive.make(source, target, at=AT)
    for n in range(KILLS):
        folder = tmp_path / f"new{n}"
        cut_off += killed(RESTORE, made, folder, after=dice.uniform(0, 0.15))
        if folder.exists():
            assert unsound_in(folder) == []
            assert len(list((folder / "files" / "photographs").iterdir())) == PHOTOGRAPHS
    assert cut_off
