"""The figures are OpenMetrics text, behind a token, and of all processes together.

Read by the parser of prometheus-client, which holds to the OpenMetrics specification.
"""

import pytest
from axes.models import AccessFailureLog
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from garage.background.queue import put_in
from garage.backup import shelf
from tests.background.tasks import noted
from tests.backup.book import managed
from tests.tables import lay_tables

TOKEN = "a token of the test"
COUNT = "from garage.watching.metrics import count, exposition; count('GET', '/customers/', 200, 0.02)"


@pytest.fixture
def _token(settings):
    settings.METRICS_TOKEN = TOKEN


def asked(token=TOKEN):
    return Client(headers={"authorization": f"Bearer {token}"}).get(reverse("metrics"))


def samples(text):
    families = text_string_to_metric_families(text)
    return {
        (sample.name, *sorted(sample.labels.items())): sample.value for family in families for sample in family.samples
    }


@pytest.mark.usefixtures("db")
def test_without_a_token_in_the_settings_there_is_no_such_page(settings):
    settings.METRICS_TOKEN = ""
    assert asked("").status_code == asked().status_code == 404


@pytest.mark.usefixtures("db", "_token")
@pytest.mark.parametrize("wrong", ["", "another", TOKEN + "x"])
def test_another_token_opens_nothing(wrong):
    assert asked(wrong).status_code == 401


@pytest.mark.usefixtures("db", "_token")
def test_the_figures_say_how_the_book_is(settings, tmp_path):
    settings.BACKUP_FOLDER = tmp_path
    (tmp_path / f"{timezone.now():{shelf.NAME}}").write_bytes(b"")
    shelf.note_proven(next(tmp_path.glob("*.tar")), at=timezone.now())
    put_in(noted, "one", file="/nowhere")
    AccessFailureLog.objects.create(username="ines", ip_address="192.0.2.1", user_agent="", path_info="/")
    answer = asked()
    assert answer["Content-Type"].startswith("application/openmetrics-text")
    found = samples(answer.content.decode())
    assert found["crankmark_disk_free_bytes",] > 0
    assert 0 <= found["crankmark_backup_age_seconds",] < 3600 * 24
    assert found["crankmark_tasks", ("state", "waiting")] == 1
    assert found["crankmark_tasks", ("state", "failed")] == 0
    assert found["crankmark_sign_in_failures",] == 1


@pytest.mark.usefixtures("_token")
def test_answers_are_counted_by_route_and_status_and_never_by_address(browser_of, owner):
    label = ("method", "GET"), ("route", "/customers/<int:pk>/"), ("status", "404")
    before = samples(asked().content.decode()).get(("crankmark_requests_total", *label), 0)
    browser_of(owner).get("/customers/987654/")
    found = samples(asked().content.decode())
    assert found["crankmark_requests_total", *label] == before + 1
    assert "987654" not in str(found)
    assert found["crankmark_request_duration_seconds_count", ("route", "/customers/<int:pk>/")] >= 1


@pytest.mark.usefixtures("_token", "db")
def test_what_a_guest_makes_up_is_one_label():
    client = Client()
    for n in range(3):
        client.generic(f"MADEUP{n}", f"/nowhere-{n}/")
    text = asked().content.decode()
    assert "MADEUP" not in text
    assert "nowhere" not in text


def test_what_several_processes_counted_is_added_up(tmp_path):
    figures, folder = tmp_path / "figures", tmp_path / "data"
    figures.mkdir()
    folder.mkdir()
    together = {"PROMETHEUS_MULTIPROC_DIR": str(figures), "METRICS_TOKEN": TOKEN}
    lay_tables(folder)
    managed(folder, "shell", "-v0", "-c", COUNT, **together)
    last = managed(folder, "shell", "-v0", "-c", f"{COUNT}; print(exposition().decode())", **together)
    text = last.stdout[last.stdout.index("# ") :].rstrip() + "\n"
    found = samples(text)
    assert found["crankmark_requests_total", ("method", "GET"), ("route", "/customers/"), ("status", "200")] == 2
