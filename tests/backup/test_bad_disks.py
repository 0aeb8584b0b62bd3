"""A disk that is full, too small or not to be written to: a sentence, and nothing half made, for each of the commands.

The limit of a file's size is POSIX's RLIMIT_FSIZE; a small or read-only disk is a tmpfs, where root can mount one.
"""

import os
import resource
import shutil
import subprocess
from contextlib import contextmanager

import pytest

from garage.backup import archive, restoring
from garage.backup.errors import BackupError
from garage.backup.soundness import unsound
from tests.backup.book import everything_in, laid_out, unsound_in
from tests.backup.test_archive import AT


@pytest.fixture
def source(tmp_path):
    made = laid_out(tmp_path / "data")
    (made.folder / "files" / "large.jpg").write_bytes(os.urandom(3 * 1024 * 1024))
    return made


@pytest.fixture
def made(source, tmp_path):
    (tmp_path / "shelf").mkdir()
    return archive.make(source, tmp_path / "shelf", at=AT)


@contextmanager
def small_disk(place, *options):
    place.mkdir()
    mounting = ["mount", "-t", "tmpfs", "-o", ",".join(["size=2m", *options]), "tmpfs", place]
    if os.getuid() != 0 or subprocess.run(mounting, check=False, capture_output=True).returncode != 0:
        pytest.skip("only root can mount a small disk")
    try:
        yield place
    finally:
        subprocess.run(["umount", place], check=True)


@contextmanager
def files_no_larger_than(size):
    """As on a network folder with a quota: the system refuses to write on."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_a_backup_onto_a_full_disk_is_said_and_leaves_nothing_there(source, tmp_path):
    with small_disk(tmp_path / "small") as disk:
        with pytest.raises(BackupError, match=r"cannot be written to .*No space left.*Make room there"):
            archive.make(source, disk, at=AT)
        assert list(disk.iterdir()) == []


@pytest.mark.parametrize("words", [None, "four words nobody guesses"])
def test_a_backup_that_may_not_grow_on_is_said_and_leaves_nothing_there(source, tmp_path, words):
    (tmp_path / "shelf").mkdir()
    with files_no_larger_than(1024 * 1024), pytest.raises(BackupError, match=r"cannot be written to .*File too large"):
        archive.make(source, tmp_path / "shelf", at=AT, passphrase=words)
    assert list((tmp_path / "shelf").iterdir()) == []


def test_a_disk_without_room_for_the_copy_of_the_database_is_said(source, tmp_path):
    import sqlite3

    with sqlite3.connect(source.database.file) as book:
        book.execute("CREATE TABLE much AS SELECT randomblob(4000000) AS it")
    book.close()
    with small_disk(tmp_path / "small") as disk:
        with pytest.raises(BackupError, match=r"The database cannot be copied to .*/small \(No space left"):
            archive.make(source, disk, at=AT)
        assert list(disk.iterdir()) == []


def test_a_backup_onto_a_disk_that_may_only_be_read_is_said(source, tmp_path):
    with small_disk(tmp_path / "small", "ro") as disk, pytest.raises(BackupError, match="Read-only file system"):
        archive.make(source, disk, at=AT)


def test_a_restore_onto_a_disk_that_is_too_small_is_said_before_it_begins(made, tmp_path):
    with small_disk(tmp_path / "small") as disk:
        with pytest.raises(BackupError, match="has too little room for this backup"):
            restoring.restore(made, disk / "new", check=unsound)
        assert list(disk.iterdir()) == []


def test_a_restore_that_runs_full_on_its_way_leaves_nothing(made, tmp_path, monkeypatch):
    """Somebody else filled the disk meanwhile."""
    plenty = shutil.disk_usage("/")._replace(free=10**12)
    monkeypatch.setattr(restoring.shutil, "disk_usage", lambda folder: plenty)
    with small_disk(tmp_path / "small") as disk:
        with pytest.raises(BackupError, match=r"Cannot restore into .*No space left.*Make room"):
            restoring.restore(made, disk / "new", check=unsound)
        assert list(disk.iterdir()) == []


def test_a_restore_onto_a_disk_that_may_only_be_read_is_said(made, tmp_path):
    with (
        small_disk(tmp_path / "small", "ro") as disk,
        pytest.raises(BackupError, match=r"Cannot restore into .*Read-only file system"),
    ):
        restoring.restore(made, disk / "new", check=unsound)


def test_a_photograph_that_cannot_be_read_ends_the_backup_with_a_sentence(source, tmp_path, monkeypatch):
    (tmp_path / "shelf").mkdir()

    def unreadable(file):
        raise OSError(5, "Input/output error")

    one = next(iter(source.files()))
    broken = archive.KeptFile(one.name, lambda: unreadable(one), one.size, one.changed_at)
    with pytest.raises(
        BackupError, match=r"cannot be read \(Input/output error\): the disk of the book may be failing"
    ):
        archive.make(archive.Source(source.folder, source.database, lambda: [broken], "1.0"), tmp_path / "shelf", at=AT)
    assert list((tmp_path / "shelf").iterdir()) == []


def test_the_book_is_as_it_was_after_each_of_these(source, tmp_path):
    before = everything_in(source.folder / "files")
    (tmp_path / "shelf").mkdir()
    with files_no_larger_than(1024), pytest.raises(BackupError):
        archive.make(source, tmp_path / "shelf", at=AT)
    assert everything_in(source.folder / "files") == before
    assert unsound_in(source.folder) == []
