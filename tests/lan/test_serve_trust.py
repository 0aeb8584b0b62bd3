"""The one page over plain http: it explains, it hands out the certificate, and leads everything else to https."""

import datetime as dt
from ipaddress import ip_address

import pytest
from django.test import Client

from garage.lan import trust_settings
from garage.lan.authority import fingerprint, kept_authority, kept_server_certificate
from garage.lan.names import names_from


@pytest.fixture
def authority(tmp_path):
    names, now = names_from("bench", [ip_address("192.168.7.20")]), dt.datetime.now(dt.UTC)
    folder = tmp_path / "certificates"
    made = kept_authority(folder, names, now)
    kept_server_certificate(folder, made, names, now)
    return made


@pytest.fixture
def tablet(settings, tmp_path, monkeypatch, authority) -> Client:
    for name in ("ROOT_URLCONF", "MIDDLEWARE", "TEMPLATES", "SECURE_SSL_REDIRECT", "SECURE_HSTS_SECONDS"):
        setattr(settings, name, getattr(trust_settings, name))
    settings.DATA_DIR = tmp_path
    settings.ALLOWED_HOSTS = ["bench.local", "192.168.7.20", "[fd00::20]"]
    monkeypatch.setenv("CRANKMARK_LOCAL_AUTHORITY", "true")
    monkeypatch.setenv("CRANKMARK_HTTPS_PORT", "8443")
    return Client(headers={"host": "192.168.7.20:8080"})


def test_the_page_shows_the_fingerprint_and_says_to_compare_it_with_the_console(tablet, authority):
    page = tablet.get("/").content.decode()
    for line in fingerprint(authority.certificate):
        assert line in page
    assert "console of the workshop computer" in page


@pytest.mark.parametrize(
    "device",
    [
        "A tablet or phone with Android",
        "An iPad or iPhone",
        "A computer with Windows",
        "A Mac",
        "Linux, and Firefox anywhere",
    ],
)
def test_the_page_explains_each_kind_of_device(tablet, device):
    assert f"<h3>{device}" in tablet.get("/").content.decode()


def test_the_page_asks_for_no_account_and_no_database(tablet):
    # Without the mark for it this test may not open the database at all.
    assert tablet.get("/").status_code == 200


def test_the_certificate_is_handed_out_as_what_it_is(tablet, authority, tmp_path):
    answer = tablet.get("/crankmark-authority.crt")
    assert answer["Content-Type"] == "application/x-x509-ca-cert"
    assert answer.content == (tmp_path / "certificates" / "authority.crt").read_bytes()


@pytest.mark.parametrize(
    "path",
    ["/authority.pem", "/certificates/authority.pem", "/../certificates/authority.pem", "/server.pem", "/secret-key"],
)
def test_no_address_leads_to_a_key(tablet, path):
    answer = tablet.get(path)
    assert answer.status_code == 302
    assert b"PRIVATE" not in answer.content


@pytest.mark.parametrize(
    ("path", "target"),
    [
        ("/sign-in/?next=/jobs/", "https://192.168.7.20:8443/sign-in/?next=/jobs/"),
        ("/jobs/26-0001/fitting/", "https://192.168.7.20:8443/jobs/26-0001/fitting/"),
    ],
)
def test_everything_else_leads_to_the_same_place_over_https(tablet, path, target):
    answer = tablet.get(path)
    assert answer.status_code == 302
    assert answer["Location"] == target


def test_an_ipv6_address_keeps_its_brackets(tablet):
    assert tablet.get("/jobs/", headers={"host": "[fd00::20]:8080"})["Location"] == "https://[fd00::20]:8443/jobs/"


def test_the_usual_port_of_https_is_left_out(tablet, monkeypatch):
    monkeypatch.setenv("CRANKMARK_HTTPS_PORT", "443")
    assert tablet.get("/jobs/")["Location"] == "https://192.168.7.20/jobs/"


def test_a_page_asked_for_under_a_foreign_name_leads_nowhere(tablet):
    answer = tablet.get("/jobs/", headers={"host": "elsewhere.example"})
    assert answer.status_code == 400
    assert "elsewhere.example" not in answer.content.decode()


def test_with_a_certificate_of_ones_own_there_is_nothing_to_trust_and_all_leads_to_https(tablet, monkeypatch):
    monkeypatch.setenv("CRANKMARK_LOCAL_AUTHORITY", "")
    for path in ("/", "/crankmark-authority.crt"):
        assert tablet.get(path)["Location"] == f"https://192.168.7.20:8443{path}"


def test_the_page_is_never_shown_from_a_cache_of_another_day(tablet):
    assert "no-store" in tablet.get("/")["Cache-Control"]


def test_the_page_keeps_to_the_policy_and_never_asks_for_strict_transport(tablet):
    answer = tablet.get("/")
    assert "default-src 'self'" in answer["Content-Security-Policy"]
    assert "Strict-Transport-Security" not in answer
