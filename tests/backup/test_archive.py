"""A backup is whole, readable by ordinary tools, and comes back as it was.

POSIX.1-2001, pax: what `tar` reads. FIPS 180-4: SHA-256, here as `hashlib` has it.
"""

import hashlib
import io
import json
import os
import sqlite3
import stat
import subprocess
import tarfile
import threading
import time
from contextlib import closing
from datetime import UTC, datetime

import pytest

from garage.backup import archive, restoring
from garage.backup.errors import BackupError
from garage.backup.soundness import unsound
from tests.backup.book import PAPER, everything_in, laid_out

AT = datetime(2026, 3, 4, 2, 0, tzinfo=UTC)


@pytest.fixture
def source(tmp_path):
    return laid_out(tmp_path / "data")


@pytest.fixture
def shelf(tmp_path):
    (tmp_path / "shelf").mkdir()
    return tmp_path / "shelf"


@pytest.fixture
def made(source, shelf):
    return archive.make(source, shelf, at=AT)


def restored(made, folder):
    return restoring.restore(made, folder, check=unsound)


def test_an_ordinary_tar_lists_what_is_in_it(made):
    listed = subprocess.run(["tar", "-tf", made], capture_output=True, text=True, check=True).stdout.split()
    assert listed == ["crankmark.sqlite3", "files/documents/label.pdf", "manifest.json"]


def test_the_manifest_names_each_file_with_its_hash_and_the_release(made):
    with tarfile.open(made) as tar:
        manifest = json.load(tar.extractfile("manifest.json"))
    assert manifest["files"]["files/documents/label.pdf"]["sha256"] == hashlib.sha256(PAPER).hexdigest()
    assert (manifest["release"], manifest["rows"]["readings"]) == ("1.0", 3)


def test_only_the_workshop_s_user_reads_a_backup(made):
    assert stat.S_IMODE(made.stat().st_mode) == 0o600


def test_a_backup_comes_back_as_it_was(made, tmp_path, source):
    assert restored(made, tmp_path / "new").rows == 5
    with closing(sqlite3.connect(tmp_path / "new" / "crankmark.sqlite3")) as book:
        assert book.execute("SELECT measured_deg FROM readings").fetchall() == [(32.5,), (10.0,), (8.25,)]
    back = everything_in(tmp_path / "new")
    assert back.keys() == {"crankmark.sqlite3", "files/documents/label.pdf"}
    assert back["files/documents/label.pdf"] == PAPER


def test_keys_are_in_it_only_where_they_were_asked_for(source, shelf, tmp_path):
    with_keys = archive.make(source, shelf, at=AT, with_keys=True)
    restored(with_keys, tmp_path / "new")
    assert (tmp_path / "new" / "secret-key").read_text() == "a secret"


def test_a_backup_made_while_people_write_is_whole(source, shelf, tmp_path):
    """Each transaction writes two rows: a backup that caught one of them would be torn."""
    stop = threading.Event()

    def write():
        with closing(sqlite3.connect(source.database.file, timeout=20)) as book:
            while not stop.is_set():
                with book:
                    book.executemany("INSERT INTO readings (measured_deg) VALUES (?)", [(1.0,), (2.0,)])

    writers = [threading.Thread(target=write) for _ in range(4)]
    for writer in writers:
        writer.start()
    try:
        backups = [archive.make(source, shelf, at=AT.replace(second=n)) for n in range(5)]
    finally:
        stop.set()
        for writer in writers:
            writer.join()
    for n, made in enumerate(backups):
        restored(made, tmp_path / str(n))
        with closing(sqlite3.connect(tmp_path / str(n) / "crankmark.sqlite3")) as book:
            assert (book.execute("SELECT count(*) FROM readings").fetchone()[0] - 3) % 2 == 0


def test_nothing_is_restored_over_a_book(made, source):
    before = everything_in(source.folder)
    with pytest.raises(BackupError, match="is not empty"):
        restored(made, source.folder)
    assert everything_in(source.folder) == before


def refused(made, tmp_path):
    """The sentence with which it is refused; nothing may be left of it."""
    with pytest.raises(BackupError) as problem:
        restored(made, tmp_path / "new")
    assert not (tmp_path / "new").exists()
    assert not list(tmp_path.glob(".new-*"))
    return str(problem.value)


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9, 0.0])
def test_an_archive_that_was_cut_short_is_refused(made, tmp_path, part):
    content = made.read_bytes()
    made.write_bytes(content[: int(len(content) * part)])
    assert "is no whole backup" in refused(made, tmp_path)


def test_a_byte_that_changed_in_a_paper_is_found(made, tmp_path):
    content = bytearray(made.read_bytes())
    content[content.index(PAPER) + 5] ^= 1
    made.write_bytes(content)
    assert "files/documents/label.pdf" in refused(made, tmp_path)


def test_a_paper_that_was_damaged_before_the_backup_is_found_by_its_proof(source, shelf):
    (source.folder / "files" / "documents" / "label.pdf").write_bytes(b"another")
    made = archive.make(source, shelf, at=AT)
    with pytest.raises(BackupError, match=r"label.pdf is not as it was saved"):
        restoring.prove(made, check=unsound)


def test_a_paper_that_is_missing_is_found_by_its_proof(source, shelf):
    (source.folder / "files" / "documents" / "label.pdf").unlink()
    made = archive.make(source, shelf, at=AT)
    with pytest.raises(BackupError, match=r"label.pdf is missing"):
        restoring.prove(made, check=unsound)


def crafted(tmp_path, name, **more):
    made = tmp_path / "crafted.tar"
    with tarfile.open(made, "w") as tar:
        entry = tarfile.TarInfo(name)
        for key, value in more.items():
            setattr(entry, key, value)
        tar.addfile(entry, io.BytesIO(b""))
    return made


@pytest.mark.parametrize("name", ["../outside", "/etc/outside", "files/../../outside", "elsewhere.txt", "."])
def test_an_archive_whose_paths_climb_out_is_refused(tmp_path, name):
    assert "has no place in a backup" in refused(crafted(tmp_path, name), tmp_path)


@pytest.mark.parametrize("kind", [tarfile.SYMTYPE, tarfile.LNKTYPE, tarfile.FIFOTYPE])
def test_an_archive_with_anything_but_files_is_refused(tmp_path, kind):
    made = crafted(tmp_path, "files/link", type=kind, linkname="/etc/passwd")
    assert "has no place in a backup" in refused(made, tmp_path)


def test_a_backup_of_a_later_release_is_refused_and_says_which(source, shelf, tmp_path):
    with closing(sqlite3.connect(source.database.file)) as book, book:
        book.execute("INSERT INTO django_migrations (app, name) VALUES ('garage', '9999_from_the_future')")
    assert "later release (step 9999_from_the_future)" in refused(archive.make(source, shelf, at=AT), tmp_path)


def test_what_is_no_archive_is_refused(tmp_path):
    (tmp_path / "a.tar").write_bytes(b"just words")
    assert "is no whole backup" in refused(tmp_path / "a.tar", tmp_path)
    assert "cannot be read" in refused(tmp_path / "nothing.tar", tmp_path)


def test_a_full_disk_is_said_and_leaves_nothing_half_written(source, shelf, monkeypatch):
    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(archive.os, "fsync", full)
    with pytest.raises(BackupError, match=r"cannot be written.*No space left"):
        archive.make(source, shelf, at=AT)
    assert list(shelf.iterdir()) == []


def test_what_a_power_cut_left_half_made_is_swept_away_a_day_later(source, shelf):
    for name, age in [(".making-old", 2 * archive.A_DAY), (".proving-old", 2 * archive.A_DAY), (".making-now", 60)]:
        (shelf / name).mkdir()
        os.utime(shelf / name, (time.time() - age, time.time() - age))
    made = archive.make(source, shelf, at=AT)
    assert {file.name for file in shelf.iterdir()} == {".making-now", made.name}


def test_a_disk_that_is_away_is_said_and_its_folder_not_made_elsewhere(source, tmp_path):
    with pytest.raises(BackupError, match=r"is not there\. Connect its disk"):
        archive.make(source, tmp_path / "away", at=AT)
    assert not (tmp_path / "away").exists()
