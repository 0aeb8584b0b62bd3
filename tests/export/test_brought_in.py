"""The open book back in an empty workshop: with equal hashes, or not at all."""

import hashlib
import io
import json
import random
import struct
import zipfile
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.utils import timezone

from garage.backup.checks import problems_of_the_book
from garage.export.archive import ExportError
from garage.export.coming_in import bring_in
from garage.export.rows import hash_of_table, published_models
from garage.models import Customer, Staff
from garage.record.models import TrailEntry
from jobs.models import CustomerLink, IssuedDocument, MapVersion
from tests.export.conftest import PAPER

NOW = timezone.now()


class UndoneError(Exception):
    """Ends a transaction that the test does not want to keep."""


@pytest.fixture
def taken_along(emptied, exported, request):
    """The archive of a book that is gone, and the hashes that its tables had."""

    def made():
        request.getfixturevalue("book_in_use")
        return exported(), {model: hash_of_table(model) for model in published_models()}

    return emptied(made)


def again(archive, change):
    """`archive` written again by a tool that keeps its lists of hashes right; `change` has each name and content."""
    with zipfile.ZipFile(archive) as old:
        contents = {name: old.read(name) for name in old.namelist()}
    change(contents)
    manifest = json.loads(contents["manifest.json"])
    for name in manifest["files"]:
        if name in contents:
            manifest["files"][name]["sha256"] = hashlib.sha256(contents[name]).hexdigest()
    contents["manifest.json"] = json.dumps(manifest).encode()
    contents["SHA256SUMS"] = f"{hashlib.sha256(contents['manifest.json']).hexdigest()}  manifest.json\n".encode()
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as new:
        for name, content in contents.items():
            new.writestr(name, content)
    archive.write_bytes(written.getvalue())


def refused(archive):
    """The sentence of the refusal, after which nothing is left."""
    with pytest.raises(ExportError) as refusal:
        bring_in(archive, at=NOW)
    assert not any(model._base_manager.exists() for model in published_models())
    for folder in ("documents", "photographs"):
        assert not default_storage.exists(folder) or default_storage.listdir(folder) == ([], [])
    return str(refusal.value)


def test_every_row_comes_back_as_it_was(db, taken_along):
    archive, before = taken_along
    found = bring_in(archive, at=NOW)
    TrailEntry.objects.filter(event="book-brought-in").get()
    after = {model: hash_of_table(model) for model in published_models() if model is not TrailEntry}
    assert after == {model: told for model, told in before.items() if model is not TrailEntry}
    assert found.rows == sum(rows for rows, _ in before.values())
    assert TrailEntry.objects.count() == before[TrailEntry][0] + 1


def test_the_seals_are_true_and_the_papers_the_same_bytes(db, taken_along):
    bring_in(taken_along[0], at=NOW)
    assert all(version.is_sound() for version in MapVersion.objects.exclude(released_at=None))
    with IssuedDocument.objects.get().file.open() as paper:
        assert paper.read() == PAPER
    assert problems_of_the_book() == []


def test_the_database_guards_the_record_that_came_in(db, taken_along):
    bring_in(taken_along[0], at=NOW)
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        TrailEntry.objects.update(sentence="nothing happened")


def test_people_come_in_without_a_password_and_with_their_role(db, taken_along):
    found = bring_in(taken_along[0], at=NOW)
    owner = Staff.objects.get(username="rowan")
    assert found.owners == ["rowan"]
    assert not any(person.has_usable_password() or person.bench_pin for person in Staff.objects.all())
    assert owner.has_perm("garage.manage_workshop")


def test_a_link_that_came_in_opens_nothing(db, taken_along):
    before = CustomerLink.objects.count()
    bring_in(taken_along[0], at=NOW)
    assert (before, CustomerLink.objects.count()) == (0, 1)


def test_what_is_written_next_is_numbered_after_what_came_in(db, taken_along):
    bring_in(taken_along[0], at=NOW)
    last = Customer.objects.order_by("pk").last()
    assert Customer.objects.create(name="Next", made_at=NOW).pk > last.pk


def test_a_used_workshop_is_left_alone(book_in_use, exported):
    archive, before = exported(), {model: hash_of_table(model) for model in published_models()}
    with pytest.raises(ExportError, match="not empty"):
        bring_in(archive, at=NOW)
    assert {model: hash_of_table(model) for model in published_models()} == before


def test_an_archive_that_was_cut_short_is_refused(db, taken_along):
    archive = taken_along[0]
    archive.write_bytes(archive.read_bytes()[:-2000])
    assert "no whole export" in refused(archive)


def inside_a_file(archive: Path, dice: random.Random) -> int:
    """The place of some byte of what a file of the zip holds, past its own header (APPNOTE.TXT 6.3.10, 4.3.7)."""
    with zipfile.ZipFile(archive) as held:
        member = dice.choice([one for one in held.infolist() if one.compress_size])
    with archive.open("rb") as file:
        file.seek(member.header_offset + 26)
        name, extra = struct.unpack("<HH", file.read(4))
    return member.header_offset + 30 + name + extra + dice.randrange(member.compress_size)


@pytest.mark.parametrize("where", ["in a file", "anywhere"])
def test_a_changed_byte_is_noticed_or_was_none_of_the_book(db, taken_along, where):
    """The list at the end of a zip has bytes that mean nothing, such as who may read a file: they change no row."""
    archive, before = taken_along
    whole, dice = archive.read_bytes(), random.Random(11)
    for _ in range(6):
        archive.write_bytes(whole)
        content = bytearray(whole)
        content[inside_a_file(archive, dice) if where == "in a file" else dice.randrange(len(content))] ^= 0xFF
        archive.write_bytes(content)
        try:
            with transaction.atomic():
                bring_in(archive, at=NOW)
                assert all(hash_of_table(model) == told for model, told in before.items() if model is not TrailEntry)
                raise UndoneError
        except ExportError:
            pass
        except UndoneError:
            assert where == "anywhere"
        for folder in ("documents", "photographs"):
            for name in default_storage.listdir(folder)[1] if default_storage.exists(folder) else []:
                default_storage.delete(f"{folder}/{name}")


def test_a_row_that_was_changed_with_its_hash_is_still_noticed(db, taken_along):
    """Whoever changes a row and mends the list of files has not mended the hash of the table."""
    name = "tables/garage_customer.json"
    again(taken_along[0], lambda all_: all_.update({name: all_[name].replace(b"after six", b"after ten")}))
    assert "rows of garage_customer are not" in refused(taken_along[0])


def test_a_photograph_that_is_not_in_it_is_noticed(db, taken_along):
    def without(contents):
        gone = next(name for name in contents if name.startswith("files/documents"))
        del contents[gone]
        manifest = json.loads(contents["manifest.json"])
        del manifest["files"][gone]
        contents["manifest.json"] = json.dumps(manifest).encode()

    again(taken_along[0], without)
    assert "The rows and the files differ" in refused(taken_along[0])


def test_an_archive_of_a_later_release_is_refused(db, taken_along):
    def later(contents):
        told = json.loads(contents["manifest.json"]) | {"version": 99, "release": "9.0"}
        contents["manifest.json"] = json.dumps(told).encode()

    again(taken_along[0], later)
    assert "later release (9.0)" in refused(taken_along[0])


@pytest.mark.parametrize("name", ["../outside.txt", "/etc/outside.txt", "files/../../outside", "files\\..\\outside"])
def test_a_path_that_climbs_out_is_refused(db, taken_along, name):
    with zipfile.ZipFile(taken_along[0], "a") as opened:
        opened.writestr(name, b"x")
    assert "points out of the archive" in refused(taken_along[0])


def test_a_bomb_is_refused_before_it_is_unpacked(db, taken_along):
    with zipfile.ZipFile(taken_along[0], "a", zipfile.ZIP_DEFLATED) as opened:
        opened.writestr("files/bomb", bytes(64 * 1024 * 1024))
    assert "unpacks to far more" in refused(taken_along[0])


def test_a_file_that_nobody_announced_is_refused(db, taken_along):
    with zipfile.ZipFile(taken_along[0], "a") as opened:
        opened.writestr("files/photographs/more.jpg", b"x")
    assert "changed or damaged" in refused(taken_along[0])


def test_something_else_is_no_export(db, tmp_path):
    with zipfile.ZipFile(tmp_path / "holiday.zip", "w") as opened:
        opened.writestr("beach.jpg", b"x")
    assert "no export of a book" in refused(tmp_path / "holiday.zip")
    (tmp_path / "letter.zip").write_text("Dear Sirs")
    assert "no whole export" in refused(tmp_path / "letter.zip")
    assert "cannot be read" in refused(tmp_path / "nowhere.zip")


def test_a_file_of_somebody_else_is_not_overwritten(db, taken_along):
    with zipfile.ZipFile(taken_along[0]) as opened:
        name = next(name for name in opened.namelist() if name.startswith("files/documents"))[len("files/") :]
    from django.core.files.base import ContentFile

    default_storage.save(name, ContentFile(b"somebody's"))
    with pytest.raises(ExportError, match="in the way"):
        bring_in(taken_along[0], at=NOW)
    with default_storage.open(name) as opened:
        assert opened.read() == b"somebody's"
    assert not Customer.objects.exists()


@pytest.mark.parametrize("left", [b"", None])
def test_what_a_killed_try_left_of_a_file_does_not_stand_in_the_way(db, taken_along, left):
    """The name taken and nothing put there yet, or the whole file: a kill leaves one of the two."""
    with zipfile.ZipFile(taken_along[0]) as opened:
        name = next(name for name in opened.namelist() if name.startswith("files/documents"))
        whole = opened.read(name)
    name = name[len("files/") :]
    from django.core.files.base import ContentFile

    default_storage.save(name, ContentFile(whole if left is None else left))
    bring_in(taken_along[0], at=NOW)
    with default_storage.open(name) as opened:
        assert opened.read() == whole
