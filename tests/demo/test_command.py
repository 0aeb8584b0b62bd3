"""`manage.py demo`: what it says, what it leaves alone."""

import socket
from io import StringIO

import pytest
from django.apps import apps
from django.core.management import call_command
from django.core.management.base import CommandError

from garage.people.models import Staff, Workshop
from garage.people.pin import check_pin
from jobs.demo.people import ACCOUNTS
from jobs.models import IssuedDocument, Job, MapVersion

pytestmark = pytest.mark.django_db


def said(*options: str) -> str:
    out = StringIO()
    call_command("demo", *options, stdout=out, stderr=StringIO())
    return out.getvalue()


def rows() -> dict[str, int]:
    return {model._meta.label: model._default_manager.count() for model in apps.get_models()}


def test_a_second_run_adds_nothing_and_says_the_same(demo):
    first, before = said("--prepare-only"), rows()
    assert said("--prepare-only") == first
    assert rows() == before


def test_it_says_where_it_is_and_who_may_come_in(demo):
    words = said("--prepare-only", "--port", "8123")
    assert "http://localhost:8123/" in words
    assert f"http://localhost:8123{demo.customer_path}" in words
    for account in ACCOUNTS:
        for part in (account.name, account.role, account.username, account.password, account.pin):
            assert part in words


@pytest.mark.parametrize("account", ACCOUNTS, ids=lambda account: account.username)
def test_the_passwords_and_pins_it_says_are_those_that_open(demo, account, client, settings):
    # The demo was filled before this test, with the site's own hashing and not the tests' quick one.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
    signed_in = client.post("/sign-in/", {"username": account.username, "password": account.password})
    assert signed_in.status_code == 302
    check_pin(Staff.objects.get(username=account.username), account.pin, at=Workshop.objects.get().set_up_at)


def test_a_real_workshop_is_refused_and_left_as_it_is(demo):
    Workshop.objects.update(is_demo=False)
    before = rows()
    with pytest.raises(CommandError, match="touches no real one"):
        said("--prepare-only")
    assert rows() == before


def test_a_port_that_is_taken_is_said_before_anything_is_done(demo):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(CommandError, match=f"Port {port} cannot be had.*--port"):
            said("--port", str(port))


def test_every_stage_has_a_car_and_one_is_on_hold(demo):
    assert {job.stage for job in Job.objects.all()} == {
        "booked", "inspection", "fitting", "base-timing", "map", "road-test", "after-care",
    }  # fmt: skip
    assert Job.objects.filter(state="on hold").count() == 1
    assert sorted(job.vehicle.engine.cylinders for job in Job.objects.all()) == [1, 2, 3, 4, 4, 4, 6, 8]


def test_nobody_let_a_car_past_a_gate_that_was_not_met(demo):
    assert not any(crossing.missing for job in Job.objects.all() for crossing in job.crossings.all())


def test_the_finished_car_has_three_versions_and_all_its_papers(demo):
    job = Job.objects.get(stage="after-care")
    assert MapVersion.objects.filter(job=job).released().count() == 3
    assert sorted(IssuedDocument.objects.filter(job=job).values_list("kind", flat=True)) == [
        "bench record", "customer sheet", "label", "restore sheet",
    ]  # fmt: skip


def test_nothing_was_written_in_the_future_or_before_the_workshop_opened(demo):
    from django.utils import timezone

    opened, now = Workshop.objects.get().set_up_at, timezone.now()
    for job in Job.objects.all():
        moments = [line.at for line in job.journal.all()]
        assert moments == sorted(moments)
        assert opened < moments[0] <= moments[-1] <= now
