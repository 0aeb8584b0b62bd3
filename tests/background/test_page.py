"""The owner's page of work in the background, and 'Try again'."""

import pytest
from django.urls import reverse
from django.utils import timezone
from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from garage.background.models import BackgroundWorker
from garage.background.queue import TRIES, put_in
from garage.record.models import TrailEntry
from tests.background.tasks import broken, refused

pytestmark = pytest.mark.django_db

PAGE = "background:page"


@pytest.fixture
def failed():
    put_in(refused, "once")
    DBTaskResult.objects.update(
        status=TaskResultStatus.FAILED,
        worker_ids=["one"] * TRIES,
        finished_at=timezone.now(),
        exception_class_path="django.core.management.base.CommandError",
        traceback="Traceback (most recent call last):\n  File …\n"
        "django.core.management.base.CommandError: The disk is away.\n",
    )
    return DBTaskResult.objects.get()


def words_of(client) -> str:
    return client.get(reverse(PAGE)).content.decode()


def test_the_owner_reads_what_failed_in_a_sentence(browser_of, owner, failed):
    page = words_of(browser_of(owner))
    assert "Refused errand" in page
    assert "The disk is away." in page
    assert "Traceback" not in page


def test_what_broke_without_a_sentence_is_not_spelled_out(browser_of, owner, failed):
    DBTaskResult.objects.update(
        exception_class_path="builtins.KeyError", traceback="builtins.KeyError: 'Mrs Somebody'\n"
    )
    page = words_of(browser_of(owner))
    assert "Something broke. The log names it." in page
    assert "Somebody" not in page


def test_try_again_lets_it_wait_and_leaves_a_line_in_the_trail(browser_of, owner, failed):
    browser_of(owner).post(reverse("background:try-again", args=[failed.pk]))
    failed.refresh_from_db()
    assert (failed.status, failed.worker_ids) == (TaskResultStatus.READY, [])
    assert TrailEntry.objects.filter(event="task-tried-again", by=owner).count() == 1


def test_what_waits_already_is_not_tried_again_twice(browser_of, owner, failed):
    client = browser_of(owner)
    for _ in range(2):
        client.post(reverse("background:try-again", args=[failed.pk]))
    assert TrailEntry.objects.filter(event="task-tried-again").count() == 1


def test_a_task_of_another_release_is_shown_by_its_name(browser_of, owner):
    put_in(broken, "once")
    DBTaskResult.objects.update(task_path="jobs.gone.tasks.send_reminder")
    assert "Send reminder" in words_of(browser_of(owner))


def test_it_is_said_that_nobody_works(browser_of, owner):
    client = browser_of(owner)
    assert "No worker is running" in words_of(client)
    BackgroundWorker.objects.create(pk="one", machine="bench")
    assert "No worker is running" not in words_of(client)


def test_it_is_the_owner_s_page(browser_of, mechanic, front_desk):
    for person in (mechanic, front_desk):
        assert browser_of(person).get(reverse(PAGE)).status_code == 403
