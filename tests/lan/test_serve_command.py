"""`manage.py serve`, really started: what it says, what it serves, how it ends."""

import datetime as dt
import http.client
import re
import shutil
import signal
import socket
import sqlite3
import ssl
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

import psutil
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from django.core.management import CommandError, call_command
from django.db.migrations.loader import MigrationLoader

from garage.lan.authority import fingerprint, kept_authority, kept_server_certificate
from garage.lan.names import names_from
from tests.browser.lan import LanServer, served


@pytest.fixture(scope="module")
def first_start(tmp_path_factory) -> LanServer:
    """A workshop that was opened once, for the first time, and closed again."""
    with served(tmp_path_factory.mktemp("first")) as server:
        server.words, server.authority_then = server.said(), server.authority
    return server


@pytest.fixture(scope="module")
def workshop(first_start):
    """The same, open again."""
    with served(first_start.folder) as server:
        yield server


@pytest.fixture
def folder(first_start, tmp_path) -> Path:
    """A data folder of the test's own with tables and static files, but without certificates."""
    folder = tmp_path / "data"
    shutil.copytree(first_start.folder, folder, ignore=shutil.ignore_patterns("certificates", "*.log"))
    return folder


def asked(server: LanServer, path: str, *, name: str = "localhost", **more):
    """The answer over https to somebody who trusts the workshop's authority alone."""
    return answered(http.client.HTTPSConnection(name, server.port, timeout=20, context=server.trusted()), path, **more)


def plainly(server: LanServer, path: str, **more):
    return answered(http.client.HTTPConnection("localhost", server.http_port, timeout=20), path, **more)


def answered(connection: http.client.HTTPConnection, path: str, *, body: str | None = None, **headers: str):
    with closing(connection):
        connection.request("POST" if body else "GET", path, body, headers)
        answer = connection.getresponse()
        answer.content = answer.read()
        return answer


def serial_served(server: LanServer) -> int:
    pem = ssl.get_server_certificate(("127.0.0.1", server.port))
    return x509.load_pem_x509_certificate(pem.encode()).serial_number


def renew(folder: Path, also: Iterable[str] = ()) -> Path:
    """A certificate for other names than before, and the authority it needs where there is none."""
    names, now = names_from("another-name", [], also), dt.datetime.now(dt.UTC)
    return kept_server_certificate(folder, kept_authority(folder, names, now), names, now).file


# What it says


def test_an_empty_folder_becomes_an_open_workshop_with_a_line_for_each_step(first_start):
    said = first_start.words
    assert re.search(r"Bringing the tables up to date \(\d+ steps\)\.", said)
    assert f"https://127.0.0.1:{first_start.port}/" in said
    assert f"http://127.0.0.1:{first_start.http_port}/" in said


def test_the_console_shows_the_fingerprint_of_the_authority(workshop):
    for line in fingerprint(workshop.authority):
        assert line in workshop.said()


def test_the_code_for_the_first_page_is_printed_once_however_many_workers_there_are(workshop):
    assert workshop.said().count("enter the one-time code") == 1


def test_nothing_else_is_on_the_console(workshop):
    assert "Traceback" not in workshop.said()
    assert "WARNING" not in workshop.said()


# What it serves


def test_a_tablet_that_trusts_the_authority_opens_the_first_page(workshop):
    answer = asked(workshop, "/set-up/")
    assert answer.status == 200
    assert b"<form" in answer.content


@pytest.mark.parametrize("name", ["localhost", "127.0.0.1"])
def test_the_workshop_answers_under_each_name_it_gave(workshop, name):
    assert asked(workshop, "/health/", name=name).status == 200


def test_a_tablet_asking_for_another_name_refuses_the_certificate(workshop):
    with socket.create_connection(("127.0.0.1", workshop.port), timeout=20) as plain, pytest.raises(ssl.SSLError) as no:
        workshop.trusted().wrap_socket(plain, server_hostname="elsewhere.local")
    assert "mismatch" in str(no.value)


def test_a_tablet_that_does_not_trust_the_authority_refuses_the_certificate(workshop):
    stranger = http.client.HTTPSConnection("localhost", workshop.port, timeout=20)
    with pytest.raises(ssl.SSLCertVerificationError):
        answered(stranger, "/")


def test_cookies_travel_over_https_alone_and_no_browser_is_told_to_insist_on_it(workshop):
    answer = asked(workshop, "/set-up/")
    cookies = answer.headers.get_all("Set-Cookie")
    assert cookies
    assert all("Secure" in cookie for cookie in cookies)
    # It would reach every port of this name, the plain-http page among them (RFC 6797, section 8.3).
    assert answer.headers["Strict-Transport-Security"] is None


def test_a_form_sent_from_the_workshops_own_page_is_taken(workshop):
    page = asked(workshop, "/set-up/")
    token = re.search(rb'name="csrfmiddlewaretoken" value="([^"]+)"', page.content).group(1).decode()
    headers = {
        "Cookie": "; ".join(one.split(";")[0] for one in page.headers.get_all("Set-Cookie")),
        "Content-Type": "application/x-www-form-urlencoded",
    }
    form = f"csrfmiddlewaretoken={token}&code=WRONG"
    # 422: a wrong code in a form that was taken; 403: a form from elsewhere.
    assert asked(workshop, "/set-up/", body=form, **headers, Origin=workshop.url).status == 422
    assert asked(workshop, "/set-up/", body=form, **headers, Origin="https://elsewhere.example").status == 403


def test_static_files_are_served_packed_and_for_ever(workshop):
    page = asked(workshop, "/set-up/").content
    sheet = re.search(rb'href="(/static/css/tokens\.[0-9a-f]+\.css)"', page).group(1).decode()
    answer = asked(workshop, sheet)
    assert answer.status == 200
    assert "immutable" in answer.headers["Cache-Control"]


def test_a_page_asked_for_under_a_foreign_name_is_refused(workshop):
    assert asked(workshop, "/set-up/", Host="elsewhere.example").status == 400


def test_the_plain_page_opens_with_its_look_and_hands_out_the_certificate_alone(workshop):
    page = plainly(workshop, "/")
    assert page.status == 200
    sheet = re.search(rb'href="(/static/css/tokens\.[0-9a-f]+\.css)"', page.content).group(1).decode()
    assert plainly(workshop, sheet).status == 200
    handed_out = plainly(workshop, "/crankmark-authority.crt")
    assert x509.load_der_x509_certificate(handed_out.content) == workshop.authority
    assert handed_out.content == (workshop.folder / "certificates" / "authority.crt").read_bytes()


@pytest.mark.parametrize("path", ["/sign-in/", "/jobs/26-0001/?a=b", "/../certificates/authority.pem"])
def test_over_plain_http_everything_else_leads_to_https(workshop, path):
    answer = plainly(workshop, path)
    assert answer.status == 302
    assert answer.headers["Location"].startswith(f"https://localhost:{workshop.port}/")


def test_keys_lie_where_only_their_owner_reads_them(workshop):
    folder = workshop.folder / "certificates"
    assert folder.stat().st_mode & 0o077 == 0
    assert [file.name for file in folder.iterdir() if file.stat().st_mode & 0o077] == []


def test_a_renewed_certificate_is_served_without_a_restart(workshop):
    before = serial_served(workshop)
    folder = workshop.folder / "certificates"
    renew(folder)
    assert serial_served(workshop) != before
    assert asked(workshop, "/health/").status == 200


# How it starts again and ends


def test_a_second_start_keeps_authority_and_tables(first_start, workshop):
    assert workshop.authority == first_start.authority_then
    assert "Bringing the tables" not in workshop.said()
    assert workshop.said().count("enter the one-time code") == 1


def test_a_new_release_keeps_a_copy_of_the_book_before_it_changes_the_tables(folder):
    *earlier, _ = sorted(name for app, name in MigrationLoader(None).disk_migrations if app == "jobs")
    server = LanServer(folder)
    server.run("manage.py", "migrate", "-v0", "jobs", earlier[-1])
    server.start()
    server.stop()
    assert "Bringing the tables up to date (1 step)." in server.said()
    (copy,) = folder.glob("before-upgrade-*.sqlite3")
    assert str(copy) in server.said()
    assert copy.stat().st_mode & 0o077 == 0
    with closing(sqlite3.connect(copy)) as book:
        assert book.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        applied = {name for (name,) in book.execute("SELECT name FROM django_migrations WHERE app = 'jobs'")}
    assert max(applied) == earlier[-1]


def test_ctrl_c_ends_it_quietly(folder):
    server = LanServer(folder)
    server.start()
    server.process.send_signal(signal.SIGINT)
    assert server.process.wait(timeout=30) == 0
    assert server.said().rstrip().endswith("Ctrl-C ends it.")
    with pytest.raises(ConnectionRefusedError):
        socket.create_connection(("127.0.0.1", server.port), timeout=5)


def test_nothing_is_left_running_when_the_command_is_killed(folder):
    server = LanServer(folder)
    server.start()
    family = psutil.Process(server.process.pid).children(recursive=True)
    assert len(family) >= 4
    server.process.kill()
    server.process.wait(timeout=10)
    _, alive = psutil.wait_procs(family, timeout=30)
    for one in alive:
        one.kill()
    assert alive == []


def test_a_server_that_ends_by_itself_ends_the_command_with_a_sentence(folder):
    server = LanServer(folder)
    server.start()
    psutil.Process(server.process.pid).children()[0].kill()
    assert server.process.wait(timeout=30) == 1
    assert "The server ended by itself" in server.said()
    assert "Traceback" not in server.said()


def test_a_taken_port_is_said_before_anything_is_changed(tmp_path):
    server = LanServer(tmp_path)
    with socket.socket() as other:
        other.bind(("127.0.0.1", server.port))
        other.listen()
        server.begin()
        assert server.process.wait(timeout=60) == 1
    assert f"Port {server.port} is taken by another program" in server.said()
    assert "Traceback" not in server.said()
    assert not (tmp_path / "crankmark.sqlite3").exists()
    assert not (tmp_path / "certificates").exists()


def test_an_authority_that_cannot_be_read_is_said_and_left_alone(folder):
    broken = folder / "certificates" / "authority.pem"
    broken.parent.mkdir()
    broken.write_text("half a file")
    server = LanServer(folder)
    server.begin()
    assert server.process.wait(timeout=60) == 1
    assert "Put the file back from the backup" in server.said()
    assert broken.read_text() == "half a file"


def test_a_certificate_folder_that_cannot_be_made_is_said_in_a_sentence(folder):
    (folder / "certificates").write_text("not a folder")
    server = LanServer(folder)
    server.begin()
    assert server.process.wait(timeout=60) == 1
    assert f"cannot keep its files in {folder}" in server.said()
    assert "Traceback" not in server.said()


# Other ways to be reached


@pytest.fixture
def own(tmp_path_factory) -> tuple[Path, Path]:
    """Key and certificate in two files, as somebody else's authority makes them for book.garage.example."""
    folder = tmp_path_factory.mktemp("elsewhere")
    both = renew(folder, also=["book.garage.example"]).read_bytes()
    at = both.index(b"-----BEGIN CERTIFICATE-----")
    (folder / "key.pem").write_bytes(both[:at])
    (folder / "chain.pem").write_bytes(both[at:])
    return folder / "chain.pem", folder / "key.pem"


def test_a_certificate_of_ones_own_is_served_under_its_names_and_no_authority_is_made(folder, own):
    certificate, key = own
    with served(folder, "--certificate", str(certificate), "--key", str(key)) as server:
        assert f"https://book.garage.example:{server.port}/" in server.said()
        assert not (folder / "certificates").exists()
        assert serial_served(server) == x509.load_pem_x509_certificate(certificate.read_bytes()).serial_number
        assert plainly(server, "/").headers["Location"] == f"https://localhost:{server.port}/"
        told = plainly(server, "/jobs/", Host="book.garage.example")
        assert told.headers["Location"] == f"https://book.garage.example:{server.port}/jobs/"


def test_behind_a_proxy_plain_http_is_spoken_to_the_proxy_and_https_asked_of_everybody(folder):
    with served(folder, "--behind-proxy") as server:

        def answer(**headers: str):
            return answered(http.client.HTTPConnection("localhost", server.port, timeout=20), "/set-up/", **headers)

        passed_on = answer(**{"X-Forwarded-Proto": "https"})
        assert passed_on.status == 200
        assert passed_on.headers["Strict-Transport-Security"]
        assert answer().status == 301
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.1", server.http_port), timeout=5)


# What it refuses


@pytest.mark.django_db  # of PostgreSQL it is asked whether the book is whole
@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"behind_proxy": True, "certificate": Path("a.pem")}, "leave out --certificate"),
        ({"behind_proxy": True, "bind": "192.168.7.20"}, "on this machine alone"),
        ({"key": Path("a.key")}, "--key needs the --certificate"),
        ({"port": 8080, "http_port": 8080}, "cannot be the same"),
        ({"port": 70000}, "between 1 and 65535"),
        ({"port": 0}, "between 1 and 65535"),
        ({"certificate": Path("missing.pem")}, "No such file"),
    ],
)
def test_what_cannot_be_is_refused_in_words(options, words):
    with pytest.raises(CommandError, match=re.escape(words)):
        call_command("serve", **options)


@pytest.mark.django_db  # of PostgreSQL it is asked whether the book is whole
def test_a_key_that_belongs_to_another_certificate_is_refused_in_words(own, tmp_path):
    certificate, _ = own
    other = renew(tmp_path)
    with pytest.raises(CommandError, match="belong together"):
        call_command("serve", certificate=certificate, key=other)


@pytest.mark.django_db  # of PostgreSQL it is asked whether the book is whole
def test_a_key_under_a_password_is_refused_in_words_and_nobody_is_asked_for_it(own, tmp_path):
    certificate, key = own
    locked = tmp_path / "locked.pem"
    secret = serialization.load_pem_private_key(key.read_bytes(), password=None)
    locked.write_bytes(
        secret.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.BestAvailableEncryption(b"camshaft"),
        )
    )
    with pytest.raises(CommandError, match="without password"):
        call_command("serve", certificate=certificate, key=locked)


def test_no_workshop_runs_with_a_developers_settings(settings):
    settings.DEBUG = True
    with pytest.raises(CommandError, match="CRANKMARK_DEVELOPMENT"):
        call_command("serve")


def test_on_windows_it_says_what_to_do_instead(monkeypatch):
    monkeypatch.setattr("sys.platform", "win32")
    with pytest.raises(CommandError, match="does not run on Windows"):
        call_command("serve")
