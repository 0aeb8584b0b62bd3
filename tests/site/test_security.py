"""What every answer carries, and what none gives away."""

import io
import logging
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
import time_machine
from django.core.exceptions import DisallowedHost
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from garage.site import data_folder
from garage.watching.quiet_log import WithoutTracebacksOfGuests

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


def test_health_is_true_however_many_ask_at_once(tmp_path, settings):
    with ThreadPoolExecutor(12) as askers:
        list(askers.map(lambda _: data_folder.prepared(tmp_path), range(600)))


def test_whatever_is_written_belongs_to_the_workshop_s_user_alone(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir(mode=0o755)
    # A few tables are enough: what matters is who made the files.
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "contenttypes", "-v0"], cwd=ROOT, check=True,
        env={**os.environ, "SECRET_KEY": "", "DATABASE_URL": "", "CRANKMARK_DATA": str(folder)},
    )  # fmt: skip
    written = [folder, *folder.rglob("*")]
    assert {"crankmark.sqlite3", "secret-key"} < {file.name for file in written}
    assert [file.name for file in written if file.stat().st_mode & 0o077] == []


def test_an_emptied_secret_key_is_made_anew(tmp_path):
    first = data_folder.kept_secret_key(tmp_path)
    (tmp_path / "secret-key").write_text("")
    again = data_folder.kept_secret_key(tmp_path)
    assert len(again) > 60
    assert again != first


def test_pages_may_use_the_camera_and_nothing_else_of_the_device(browser_of, mechanic):
    policy = browser_of(mechanic).get("/")["Permissions-Policy"]
    assert "camera=(self)" in policy
    assert "geolocation=()" in policy
    assert "microphone=()" in policy


def test_no_page_undoes_its_own_referrer_rule(browser_of, mechanic):
    assert 'name="referrer"' not in browser_of(mechanic).get("/").content.decode()


def test_a_strange_host_name_is_one_line_of_the_log():
    said = logged(DisallowedHost("elsewhere.example"))
    assert "Traceback" not in said
    assert "elsewhere.example" in said


def test_what_breaks_here_keeps_its_traceback():
    assert "Traceback" in logged(RuntimeError("broken"))


def logged(problem):
    """What the console says of `problem`."""
    out = io.StringIO()
    handler = logging.StreamHandler(out)
    handler.addFilter(WithoutTracebacksOfGuests())
    record = logging.LogRecord("django", logging.ERROR, "", 0, str(problem), None, (type(problem), problem, None))
    record.exc_info = (type(problem), problem, None)
    if handler.filter(record):
        handler.emit(record)
    text = out.getvalue()
    return text if record.exc_info is None else f"Traceback\n{text}"


def test_a_customer_s_browser_keeps_nothing_of_the_workshop_s(workshop):
    answer = Client().get(reverse("documents:customer-page", args=["no-such-token"]))
    assert "bench_device" not in answer.cookies


def test_a_tablet_that_lay_there_over_night_asks_for_a_sign_in(browser_of, mechanic, settings):
    client = browser_of(mechanic)
    with time_machine.travel(timezone.now(), tick=False) as clock:
        assert client.get("/").status_code == 200
        clock.shift(settings.SESSION_IDLE_AFTER - 60)
        assert client.get("/").status_code == 200
        clock.shift(settings.SESSION_IDLE_AFTER + 60)
        assert client.get("/").status_code == 302


def test_an_open_sheet_that_asks_by_itself_does_not_pass_for_a_person(browser_of, mechanic, settings):
    client = browser_of(mechanic)
    with time_machine.travel(timezone.now(), tick=False) as clock:
        client.get("/")
        for _ in range(3):
            clock.shift(settings.SESSION_IDLE_AFTER // 2)
            client.get("/", headers={"Accept": "application/json"})
        assert client.get("/").status_code == 302
