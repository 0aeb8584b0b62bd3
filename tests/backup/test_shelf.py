"""Which backups are kept, and what the owner is told of them."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.backup import notices, shelf, workshop
from garage.backup.archive import NAME

NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)


def lay(folder, made_at, *, proven=True):
    folder.mkdir(exist_ok=True)
    file = folder / f"{made_at.astimezone(UTC):{NAME}}"
    file.write_bytes(b"x" * 1000)
    if proven:
        shelf.note_proven(file, at=made_at)
    return file


def test_seven_days_five_weeks_and_twelve_months_are_kept_of_two_years(tmp_path):
    for days in range(730):
        lay(tmp_path, NOW - timedelta(days=days))
    found = shelf.backups(tmp_path)
    kept = [one for one in found if one not in shelf.not_kept(found, days=7, weeks=5, months=12)]
    made = [one.made_at.date() for one in kept]
    assert made[:7] == [(NOW - timedelta(days=days)).date() for days in range(7)]
    assert {(day.year, day.month) for day in made} == {
        (2025, 12), *((2026, month) for month in range(1, 12)),
    }  # fmt: skip
    assert len({day.isocalendar()[:2] for day in made if day > (NOW - timedelta(days=35)).date()}) >= 5
    assert len(kept) <= 7 + 5 + 12


def test_the_last_proven_backup_is_never_taken_away(tmp_path):
    old = lay(tmp_path, NOW - timedelta(days=900))
    for days in range(30):
        lay(tmp_path, NOW - timedelta(days=days), proven=False)
    found = shelf.backups(tmp_path)
    assert old.name not in {one.name for one in shelf.not_kept(found, days=7, weeks=5, months=12)}


def test_whatever_else_lies_there_is_left_alone(tmp_path):
    lay(tmp_path, NOW)
    (tmp_path / "holiday.jpg").write_bytes(b"x")
    (tmp_path / "crankmark-of-mine.tar").write_bytes(b"x")
    assert [one.made_at for one in shelf.backups(tmp_path)] == [NOW]


@pytest.fixture
def second_place(settings, tmp_path, monkeypatch):
    settings.BACKUP_FOLDER = tmp_path / "shelf"
    monkeypatch.setattr(workshop, "is_on_the_disk_of_the_book", lambda target: False)
    return settings.BACKUP_FOLDER


def test_without_a_second_place_the_owner_is_told_to_name_one(settings):
    settings.BACKUP_FOLDER = None
    assert "CRANKMARK_BACKUP" in workshop.what_is_wrong(NOW)


def test_a_fresh_proven_backup_is_no_news(second_place):
    lay(second_place, NOW - timedelta(hours=10))
    assert workshop.what_is_wrong(NOW) == ""


def test_a_proven_backup_older_than_two_days_is_said(second_place):
    lay(second_place, NOW - timedelta(days=3))
    lay(second_place, NOW - timedelta(hours=1), proven=False)
    assert workshop.what_is_wrong(NOW) == "The last proven backup is 3 days old."


def test_a_second_place_that_is_away_is_said(second_place):
    assert "is not there" in workshop.what_is_wrong(NOW)


def test_an_empty_second_place_is_no_backup(second_place):
    second_place.mkdir()
    assert workshop.what_is_wrong(NOW) == "No backup has been proven yet."


def test_a_second_place_on_the_disk_of_the_book_is_none(settings, tmp_path):
    settings.BACKUP_FOLDER, settings.DATA_DIR = tmp_path, tmp_path
    assert "on the disk of the book" in workshop.what_is_wrong(NOW)


@pytest.mark.parametrize(
    ("made", "now", "due"),
    [
        ("2026-11-19 12:00", "2026-11-20 01:00", False),
        ("2026-11-19 12:00", "2026-11-20 02:30", True),
        ("2026-11-20 02:05", "2026-11-20 12:00", False),
        ("2026-11-18 02:05", "2026-11-20 01:00", True),
    ],
)
def test_a_backup_is_due_once_a_night_by_the_workshop_s_clock(second_place, settings, made, now, due):
    settings.TIME_ZONE = "UTC"
    moment = {name: datetime.fromisoformat(f"{text}+00:00") for name, text in [("made", made), ("now", now)]}
    with timezone.override(UTC):
        lay(second_place, moment["made"])
        assert workshop.is_due(moment["now"]) is due


def test_the_owner_s_day_begins_with_one_line_about_old_backups(browser_of, owner, mechanic, second_place):
    lay(second_place, timezone.now() - timedelta(days=5))
    assert "The last proven backup is 5 days old." in browser_of(owner).get("/").content.decode()
    assert "backup" not in browser_of(mechanic).get("/").content.decode()


def test_the_owner_is_told_of_a_disk_that_fills_up(browser_of, owner, monkeypatch, second_place):
    lay(second_place, timezone.now())
    monkeypatch.setattr(notices, "free_bytes", lambda folder: 300 * 1024**2)
    assert "Only 300 MB are free on the disk of the book." in browser_of(owner).get("/").content.decode()


def test_the_page_lists_the_backups_and_what_would_be_lost(browser_of, owner, second_place):
    lay(second_place, timezone.now() - timedelta(minutes=41))
    file = lay(second_place, timezone.now() - timedelta(days=1), proven=False)
    page = browser_of(owner).get(reverse("backup:page")).content.decode().replace("\xa0", " ")
    assert "entries of the last 41 minutes would be lost" in page
    assert file.name in page
    assert "not passed" in page


def test_the_page_says_which_are_encrypted_and_where_they_go_as_well(browser_of, owner, second_place, settings):
    settings.BACKUP_BUCKET = "s3://workshop/backups"
    plain = lay(second_place, timezone.now())
    plain.rename(plain.with_name(plain.name + ".age"))
    page = browser_of(owner).get(reverse("backup:page")).content.decode()
    assert '<td data-label="Encrypted">yes</td>' in page
    assert "Sent to <code>s3://workshop/backups</code> as well." in page


def test_nobody_but_the_owner_sees_the_backups(browser_of, mechanic, front_desk):
    for person in (mechanic, front_desk):
        assert browser_of(person).get(reverse("backup:page")).status_code == 403
