"""What every answer carries, and what none gives away."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from garage.site import data_folder

ROOT = Path(__file__).resolve().parent.parent.parent


def test_no_page_allows_script_or_style_from_within_or_from_elsewhere(browser_of, mechanic):
    policy = browser_of(mechanic).get("/")["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    for loophole in ("unsafe-inline", "unsafe-eval", "http:", "https:", "*"):
        assert loophole not in policy


@pytest.mark.parametrize(
    ("header", "value"),
    [("X-Frame-Options", "DENY"), ("X-Content-Type-Options", "nosniff"), ("Referrer-Policy", "same-origin")],
)
def test_every_page_is_guarded_against_being_framed_guessed_at_or_told_of(browser_of, mechanic, header, value):
    assert browser_of(mechanic).get("/")[header] == value


def test_a_form_from_elsewhere_is_refused(mechanic):
    client = Client(enforce_csrf_checks=True)
    client.force_login(mechanic, backend="django.contrib.auth.backends.ModelBackend")
    answer = client.post(reverse("people:sign-out"))
    assert answer.status_code == 403
    assert "csrf" not in answer.content.decode().lower()


def test_an_error_page_says_nothing_of_the_machinery(browser_of, mechanic, monkeypatch):
    from jobs.board import queries

    def broken(today):
        raise RuntimeError("the secret inside")

    monkeypatch.setattr(queries, "board", broken)
    client = browser_of(mechanic)
    client.raise_request_exception = False
    answer = client.get("/")
    assert answer.status_code == 500
    page = answer.content.decode()
    assert "the secret inside" not in page
    assert "Traceback" not in page


def test_a_tampered_device_name_is_replaced_not_trusted(browser_of, mechanic):
    client = browser_of(mechanic)
    client.cookies["bench_device"] = "00000000-0000-4000-8000-000000000000:forged"
    assert client.get("/").cookies["bench_device"].value != "00000000-0000-4000-8000-000000000000:forged"


def test_the_health_page_is_open_and_says_two_words(client, db):
    answer = client.get("/health/")
    assert answer.json() == {"database": True, "data_folder": True}


def started(**environment):
    return subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT,
        env={**os.environ, "SECRET_KEY": "", **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def test_an_unwritable_data_folder_is_said_at_the_start_without_a_traceback(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    outcome = started(CRANKMARK_DATA=str(blocked / "data"))
    assert outcome.returncode != 0
    assert "cannot write to its data folder" in outcome.stderr
    assert "Traceback" not in outcome.stderr


def test_a_full_disk_is_said_with_how_much_is_wanted(tmp_path, monkeypatch):
    from collections import namedtuple

    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr(data_folder.shutil, "disk_usage", lambda folder: usage(10**9, 10**9, 3 * 1024 * 1024))
    with pytest.raises(data_folder.DataFolderError, match=r"Only 3 MB are free.*at least 50 MB"):
        data_folder.prepared(tmp_path)


def test_the_secret_key_is_made_once_and_only_its_owner_reads_it(tmp_path):
    first, second = data_folder.kept_secret_key(tmp_path / "d"), data_folder.kept_secret_key(tmp_path / "d")
    assert first == second
    assert len(first) > 60
    assert (tmp_path / "d" / "secret-key").stat().st_mode & 0o077 == 0
    assert (tmp_path / "d").stat().st_mode & 0o077 == 0


def test_development_is_off_unless_asked_for(tmp_path):
    code = "from garage.site import settings; print(settings.DEBUG, settings.SESSION_COOKIE_HTTPONLY)"
    outcome = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env={**os.environ, "CRANKMARK_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert outcome.stdout.strip() == "False True"
