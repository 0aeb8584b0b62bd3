"""The owner's page of exports."""

import zipfile
from io import BytesIO

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.export import actions
from garage.export.archive import write_book
from garage.export.finished import exports_folder, finished, take_away_all
from garage.record.models import TrailEntry

PAGE = reverse("export:page")


@pytest.fixture(autouse=True)
def _folder_of_its_own(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def test_an_export_is_asked_for_once_and_stands_on_the_trail(
    browser_of, owner, monkeypatch, django_capture_on_commit_callbacks
):
    begun = []
    monkeypatch.setattr(actions, "_begin", begun.append)
    with django_capture_on_commit_callbacks(execute=True):
        browser_of(owner).post(PAGE)
    assert begun == [exports_folder()]
    assert TrailEntry.objects.get(event="book-exported").by == owner


def test_what_was_made_can_be_taken_and_removed(browser_of, owner):
    write_book(exports_folder(), at=timezone.now())
    client, name = browser_of(owner), finished()[0].file.name
    assert name in client.get(PAGE).content.decode()
    answer = client.get(reverse("export:download", args=[name]))
    with zipfile.ZipFile(BytesIO(b"".join(answer.streaming_content))) as archive:
        assert "manifest.json" in archive.namelist()
    client.post(reverse("export:remove", args=[name]))
    assert finished() == []


def test_while_one_is_made_no_second_is_begun(browser_of, owner):
    (exports_folder() / ".making-now").mkdir()
    assert "is being made" in browser_of(owner).get(PAGE).content.decode()
    browser_of(owner).post(PAGE)
    assert not TrailEntry.objects.filter(event="book-exported").exists()


def test_a_try_that_failed_says_why(browser_of, owner):
    (exports_folder() / "said.txt").write_text("CommandError: The disk is full.\n")
    assert "The last export failed: The disk is full." in browser_of(owner).get(PAGE).content.decode()


@pytest.mark.parametrize("name", ["said.txt", "..%2Fsecret-key", "crankmark.sqlite3"])
def test_nothing_but_an_export_is_given_out(browser_of, owner, name):
    (exports_folder() / "said.txt").write_text("x")
    (exports_folder().parent / "secret-key").write_text("x")
    assert browser_of(owner).get(f"{PAGE}{name}/").status_code == 404


def test_a_mechanic_takes_no_book_along(browser_of, mechanic):
    write_book(exports_folder(), at=timezone.now())
    url = reverse("export:download", args=[finished()[0].file.name])
    assert [browser_of(mechanic).get(one).status_code for one in (PAGE, url)] == [403, 403]


def test_all_can_be_taken_away(db, workshop):
    write_book(exports_folder(), at=timezone.now())
    take_away_all()
    assert finished() == []
