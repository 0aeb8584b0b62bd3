"""The backup of each night is put in once, whoever asks, and tried again in the night while it fails."""

from datetime import UTC, datetime

import pytest
from django.core.management import CommandError
from django_tasks_db.models import DBTaskResult

from garage.backup import tasks
from garage.backup.errors import BackupError, NotSentError

pytestmark = pytest.mark.django_db

IN_THE_NIGHT = datetime(2026, 3, 5, 2, 30, tzinfo=UTC)


@pytest.fixture
def _is_due(monkeypatch):
    monkeypatch.setattr(tasks, "is_due", lambda now: True)


@pytest.mark.usefixtures("_is_due")
def test_two_machines_that_ask_put_in_one_backup_for_the_night():
    for now in (IN_THE_NIGHT, IN_THE_NIGHT.replace(hour=9), IN_THE_NIGHT.replace(hour=23)):
        tasks.put_in_tonights(now)
    assert [row.args_kwargs["kwargs"] for row in DBTaskResult.objects.all()] == [{"night": "2026-03-05"}]


@pytest.mark.usefixtures("_is_due")
def test_before_the_hour_it_is_still_the_night_before():
    tasks.put_in_tonights(IN_THE_NIGHT.replace(hour=1))
    tasks.put_in_tonights(IN_THE_NIGHT)
    assert DBTaskResult.objects.count() == 2


def test_nothing_is_put_in_while_nothing_is_due(monkeypatch):
    monkeypatch.setattr(tasks, "is_due", lambda now: False)
    tasks.put_in_tonights(IN_THE_NIGHT)
    assert not DBTaskResult.objects.exists()


def test_what_is_done_is_the_backup_that_the_command_makes(monkeypatch):
    def command(name, *, prune, stdout):
        assert (name, prune) == ("backup", True)
        stdout.write("made, restored for a test, and sound.\nThe book is sound.\n")

    monkeypatch.setattr(tasks, "call_command", command)
    assert tasks.nightly_backup.call("2026-03-05") == "made, restored for a test, and sound."


def refusing(problem):
    def command(name, *, prune, stdout):
        stdout.write("made, restored for a test, and sound.\n")
        raise CommandError(str(problem)) from problem

    return command


def test_a_bucket_that_takes_nothing_does_not_have_the_backup_made_again(monkeypatch):
    monkeypatch.setattr(tasks, "call_command", refusing(NotSentError("the storage answered 500")))
    assert tasks.nightly_backup.call("2026-03-05") == "made, restored for a test, and sound."


def test_a_backup_that_could_not_be_made_is_tried_again(monkeypatch):
    monkeypatch.setattr(tasks, "call_command", refusing(BackupError("the disk is full")))
    with pytest.raises(CommandError, match="the disk is full"):
        tasks.nightly_backup.call("2026-03-05")


def test_what_the_bucket_did_not_take_is_put_in_once(monkeypatch):
    monkeypatch.setattr(tasks, "left_to_send", lambda now: "crankmark-20260305-020000.tar")
    for _ in range(3):
        tasks.put_in_what_was_not_sent(IN_THE_NIGHT)
    assert [row.args_kwargs["kwargs"] for row in DBTaskResult.objects.all()] == [
        {"name": "crankmark-20260305-020000.tar"}
    ]
