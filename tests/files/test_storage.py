"""What is acknowledged is on the disk. POSIX: fsync of a file keeps its bytes, fsync of its folder keeps its name."""

import errno
import io
import os
import stat
import uuid
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from garage.files.storage import StorageFullError, discarded_on_failure
from jobs.checklists.actions import record_photograph
from jobs.checklists.models import Photograph
from jobs.checklists.photographs import prepared
from tests.checklists.factories import photograph, sheet_with, signed_by

LOOM = {"key": "loom", "kind": "photo"}


@pytest.fixture
def disk(monkeypatch):
    """What was asked of the disk, in order: ('bytes', inode), ('named', name), ('names', folder)."""
    asked = []
    fsync, replace = os.fsync, os.replace

    def noted_fsync(descriptor):
        state = os.fstat(descriptor)
        asked.append(("names" if stat.S_ISDIR(state.st_mode) else "bytes", state.st_ino))
        fsync(descriptor)

    def noted_replace(source, target):
        asked.append(("named", os.stat(source).st_ino))
        replace(source, target)

    monkeypatch.setattr(os, "fsync", noted_fsync)
    monkeypatch.setattr(os, "replace", noted_replace)
    return asked


def test_a_saved_file_has_its_bytes_on_the_disk_before_its_name_and_its_name_before_the_answer(disk):
    name = default_storage.save("photographs/26-0001/loom.jpg", ContentFile(b"a picture"))
    inode = os.stat(default_storage.path(name)).st_ino
    folder = os.stat(os.path.dirname(default_storage.path(name))).st_ino
    assert disk[-3:] == [("bytes", inode), ("named", inode), ("names", folder)]


def test_a_new_folder_is_entered_in_the_one_above_on_the_disk_too(disk):
    name = default_storage.save("photographs/26-0002/loom.jpg", ContentFile(b"a picture"))
    above = os.path.dirname(os.path.dirname(default_storage.path(name)))
    assert ("names", os.stat(above).st_ino) in disk


def test_two_files_of_one_name_are_both_kept():
    names = [default_storage.save("documents/label.pdf", ContentFile(content)) for content in (b"first", b"second")]
    assert [Path(default_storage.path(name)).read_bytes() for name in names] == [b"first", b"second"]


def test_a_file_is_readable_by_its_owner_alone():
    path = default_storage.path(default_storage.save("documents/label.pdf", ContentFile(b"x")))
    assert stat.S_IMODE(os.stat(path).st_mode) == 0o600


def files_kept():
    return [file for _, _, files in os.walk(default_storage.path("")) for file in files]


def test_nothing_is_left_of_a_file_whose_record_failed():
    default_storage.save("documents/kept.pdf", ContentFile(b"x"))

    @discarded_on_failure()
    def fails():
        default_storage.save("documents/lost.pdf", ContentFile(b"x"))
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fails()
    assert files_kept() == ["kept.pdf"]


def test_a_photograph_that_does_not_enter_the_record_leaves_no_file(mechanic, monkeypatch):
    sheet = sheet_with([LOOM], person=mechanic)

    def broken(*args, **kwargs):
        raise ConnectionError("the database is gone")

    monkeypatch.setattr(Photograph, "save_base", broken)
    with pytest.raises(ConnectionError):
        record_photograph(
            sheet=sheet, key="loom", id=uuid.uuid4(), entry_id=uuid.uuid4(), actor=signed_by(mechanic),
            picture=prepared(io.BytesIO(photograph())),
        )  # fmt: skip
    assert files_kept() == []


@pytest.fixture
def _no_room(monkeypatch):
    def full(descriptor):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)


@pytest.mark.usefixtures("_no_room")
def test_a_full_disk_is_said_and_leaves_nothing_half_written(tmp_path):
    os.makedirs(default_storage.path("documents"))
    with pytest.raises(StorageFullError, match="The disk is full"):
        default_storage.save("documents/label.pdf", ContentFile(b"x"))
    assert files_kept() == []
