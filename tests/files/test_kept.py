"""Every kept file is found, in a folder and in a storage that has none."""

import os

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage, InMemoryStorage

from garage.files.kept import kept_files

CONTENT = {"documents/label.pdf": b"a paper", "photographs/26-0001/loom.jpg": b"a picture", "top.txt": b""}


@pytest.fixture(params=["folder", "no folder"])
def storage(request, tmp_path):
    made = FileSystemStorage(tmp_path / "files") if request.param == "folder" else InMemoryStorage()
    for name, content in CONTENT.items():
        made.save(name, ContentFile(content))
    return made


def test_each_is_given_under_its_name_with_its_bytes_and_their_number(storage):
    found = {}
    for file in kept_files(storage):
        with file.open() as opened:
            found[file.name] = opened.read()
        assert file.size() == len(found[file.name])
        assert file.changed_at() > 0
    assert found == CONTENT


def test_what_is_just_being_written_is_left_out(storage):
    storage.save("photographs/.loom.jpg-x7", ContentFile(b"half"))
    assert {file.name for file in kept_files(storage)} == CONTENT.keys()


def test_a_link_out_of_the_folder_is_not_followed(tmp_path):
    (tmp_path / "files").mkdir()
    os.symlink("/etc/passwd", tmp_path / "files" / "label.pdf")
    assert list(kept_files(FileSystemStorage(tmp_path / "files"))) == []
