"""Work is put in once, tried again with growing pauses, taken back from a dead worker, and forgotten in the end."""

from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone
from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from garage.background import queue, schedule
from garage.background.models import BackgroundWorker
from garage.background.queue import PAUSES, TRIES, forget_old, put_in, put_off_what_failed, take_back_from_the_dead
from garage.background.worker import work
from tests.background.tasks import broken, noted, refused

pytestmark = pytest.mark.django_db


def row(**changes) -> DBTaskResult:
    put_in(noted, "a key", file="/nowhere")
    DBTaskResult.objects.update(**changes)
    return DBTaskResult.objects.get()


def failed(tries: int) -> DBTaskResult:
    return row(
        status=TaskResultStatus.FAILED, worker_ids=["one"] * tries, finished_at=timezone.now(), traceback="It broke."
    )


def test_the_same_key_is_put_in_once():
    assert [put_in(noted, "tonight", file="/nowhere") for _ in range(3)] == [True, False, False]
    assert DBTaskResult.objects.count() == 1


def test_two_who_put_it_in_at_the_same_moment_put_in_one(monkeypatch):
    put_in(noted, "tonight", file="/nowhere")
    # The other's row is committed between our looking and our writing.
    monkeypatch.setattr(queue.DBTaskResult.objects, "filter", lambda **asked: DBTaskResult.objects.none())
    assert put_in(noted, "tonight", file="/nowhere") is False
    assert DBTaskResult.objects.count() == 1


def test_another_key_or_another_task_is_another_row():
    put_in(noted, "one", file="/nowhere")
    put_in(noted, "two", file="/nowhere")
    put_in(refused, "one")
    assert DBTaskResult.objects.count() == 3


def test_what_is_put_in_by_a_change_that_fails_is_not_done():
    with transaction.atomic():
        put_in(noted, "tonight", file="/nowhere")
        transaction.set_rollback(True)
    assert not DBTaskResult.objects.exists()


@pytest.mark.parametrize(("tries", "pause"), list(enumerate(PAUSES, start=1)))
def test_what_failed_waits_longer_each_time(tries, pause):
    ended = failed(tries).finished_at
    put_off_what_failed()
    again = DBTaskResult.objects.get()
    assert (again.status, again.run_after - ended) == (TaskResultStatus.READY, pause)


def test_after_the_last_try_it_stays_failed():
    failed(TRIES)
    assert put_off_what_failed() == 0
    assert DBTaskResult.objects.get().status == TaskResultStatus.FAILED


def test_the_work_of_a_silent_worker_is_taken_again_at_once(settings):
    BackgroundWorker.objects.create(pk="silent", machine="bench")
    settings.BACKGROUND_SILENCE = -1.0
    row(status=TaskResultStatus.RUNNING, worker_ids=["silent"], started_at=timezone.now())
    assert take_back_from_the_dead() == 1
    put_off_what_failed()
    assert DBTaskResult.objects.ready().count() == 1


def test_the_work_of_a_living_worker_is_left_to_it():
    BackgroundWorker.objects.create(pk="living", machine="bench")
    row(status=TaskResultStatus.RUNNING, worker_ids=["living"], started_at=timezone.now())
    assert take_back_from_the_dead() == 0


def test_work_that_ends_its_worker_each_time_fails_in_the_end():
    row(status=TaskResultStatus.RUNNING, worker_ids=["gone"] * TRIES, started_at=timezone.now())
    take_back_from_the_dead()
    put_off_what_failed()
    assert DBTaskResult.objects.get().status == TaskResultStatus.FAILED


def test_what_ended_more_than_thirty_days_ago_is_forgotten():
    long_ago = timezone.now() - timedelta(days=31)
    for key, status, ended in [
        ("old", TaskResultStatus.SUCCESSFUL, long_ago),
        ("old failure", TaskResultStatus.FAILED, long_ago),
        ("fresh", TaskResultStatus.SUCCESSFUL, timezone.now()),
        ("waiting", TaskResultStatus.READY, None),
    ]:
        put_in(noted, key, file=key)
        DBTaskResult.objects.filter(args_kwargs__kwargs__file=key).update(status=status, finished_at=ended)
    forget_old()
    assert {kept.args_kwargs["kwargs"]["file"] for kept in DBTaskResult.objects.all()} == {"fresh", "waiting"}


@pytest.mark.parametrize(
    ("errand", "sentence"), [(refused, "The disk is away."), (broken, "Something broke. The log names it.")]
)
def test_the_console_hears_of_a_failure_in_words(monkeypatch, errand, sentence):
    monkeypatch.setattr("garage.background.worker.threading.Thread.start", lambda thread: None)
    monkeypatch.setattr("garage.background.worker.SpokenWorker.configure_signals", lambda worker: None)
    # The worker lets go of connections between tasks; the test's own stays.
    monkeypatch.setattr("django_tasks_db.management.commands.db_worker.close_old_connections", lambda: None)
    put_in(errand, "once")
    said = []
    work(said.append, until_empty=True)
    assert len(said) == 1
    assert said[0].endswith(f"failed, try 1 of {TRIES}: {sentence}")


def test_what_looks_through_much_is_asked_as_often_as_it_said(monkeypatch):
    monkeypatch.setattr(schedule, "_asked", {})
    monkeypatch.setattr(schedule, "_last_asked", {})
    asked, now = [], timezone.now()
    schedule.install(asked.append, every=timedelta(minutes=10))
    for minutes in (0, 5, 10, 12, -60, -55):
        schedule.put_in_what_is_due(now + timedelta(minutes=minutes))
    # -60: a clock that was put back
    assert [round((at - now) / timedelta(minutes=1)) for at in asked] == [0, 10, -60]
