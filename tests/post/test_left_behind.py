"""Mail whose task is gone is found: tried again, and after a day said to have failed."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone
from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from garage.background.queue import TRIES
from jobs.post import actions
from jobs.post.left_behind import LOOKED_FOR_EVERY, NOBODY_SENT_IT, OVERDUE_AFTER, take_up_what_was_left_behind
from jobs.post.models import MailKind
from jobs.post.queries import failed_mails, standing_of
from jobs.post.tasks import send_mail
from tests.post.test_delivery import BUSY, tried

SOON = OVERDUE_AFTER + timedelta(minutes=1)
BROKEN = {"status": TaskResultStatus.FAILED, "worker_ids": ["one"] * TRIES, "finished_at": timezone.now()}


def looked_at(after):
    """The workers look for mail that was left behind, so long after now."""
    now = timezone.now() + after
    with time_machine.travel(now, tick=False):
        take_up_what_was_left_behind(now)


def ready():
    return DBTaskResult.objects.filter(status=TaskResultStatus.READY)


@pytest.fixture
def broke():
    """Its task broke for good, or the book was moved and the task stayed behind."""
    return {"broke": lambda: DBTaskResult.objects.update(**BROKEN), "gone": lambda: DBTaskResult.objects.all().delete()}


@pytest.mark.parametrize("how", ["broke", "gone"])
def test_mail_without_a_task_is_tried_again_once_an_hour(put_in, office, broke, how):
    mail = put_in()
    broke[how]()
    for _ in range(3):
        looked_at(SOON)
    assert [row.args_kwargs["kwargs"] for row in ready()] == [{"mail": mail.pk}]
    send_mail.call(mail.pk)
    ready().update(status=TaskResultStatus.SUCCESSFUL, finished_at=timezone.now())
    looked_at(SOON + timedelta(hours=2))
    assert (standing_of(mail).state, ready().count(), len(office.delivered)) == ("sent", 0, 1)


@pytest.mark.parametrize("how", ["broke", "gone"])
def test_after_a_day_it_has_failed_and_says_so_on_today(put_in, job, broke, how, browser_of, front_desk):
    mail = put_in()
    broke[how]()
    looked_at(timedelta(days=1, minutes=1))
    assert (standing_of(mail).state, standing_of(mail).sentence) == ("failed", NOBODY_SENT_IT)
    assert list(failed_mails(list(MailKind))) == [mail]
    assert NOBODY_SENT_IT in browser_of(front_desk).get("/").content.decode()
    assert job.journal.last().sentence == f"Mail failed: customer's sheet no. 1. {NOBODY_SENT_IT}"


def test_one_that_somebody_asked_for_again_has_another_day(put_in, office, actor):
    office.answer_to["RCPT"] = "550 no"
    mail = put_in()
    tried(mail)
    later = timezone.now() + timedelta(days=3)
    with time_machine.travel(later, tick=False):
        actions.try_again(mail=mail, actor=type(actor)(person=actor.person, at=later))
    DBTaskResult.objects.all().delete()
    looked_at(timedelta(days=3) + SOON)
    assert (standing_of(mail).state, ready().count()) == ("waiting", 1)


def test_what_a_worker_has_or_will_have_is_left_alone(put_in, office):
    office.answer_to["DATA"] = BUSY
    mail = put_in()
    tried(mail)
    DBTaskResult.objects.exclude(run_after=standing_of(mail).last.again_at).delete()
    before = DBTaskResult.objects.get()
    for status, tries in [("READY", 1), ("RUNNING", 1), ("FAILED", TRIES - 1)]:
        DBTaskResult.objects.update(status=status, worker_ids=["one"] * tries)
        looked_at(timedelta(days=2))
        assert (DBTaskResult.objects.get().pk, standing_of(mail).state) == (before.pk, "waiting")


def test_one_that_is_not_overdue_is_left_alone(put_in):
    put_in()
    DBTaskResult.objects.all().delete()
    looked_at(OVERDUE_AFTER - timedelta(minutes=1))
    assert not DBTaskResult.objects.exists()


@pytest.mark.parametrize("decide", [actions.sent_by_hand, actions.stop])
def test_what_somebody_dealt_with_is_left_alone(put_in, actor, decide):
    mail = put_in()
    DBTaskResult.objects.all().delete()
    decide(mail=mail, actor=actor)
    state = standing_of(mail).state
    looked_at(timedelta(days=2))
    assert (standing_of(mail).state, DBTaskResult.objects.exists()) == (state, False)


def test_the_workers_look_for_it_every_few_minutes():
    from garage.background import schedule

    assert schedule._asked[take_up_what_was_left_behind] == LOOKED_FOR_EVERY


def test_today_says_how_many_more_failed_and_leads_to_all_of_them(put_in, office, browser_of, front_desk):
    office.answer_to["RCPT"] = "550 no such box"
    mails = [put_in(what=f"customer's sheet no. {number}") for number in range(1, 44)]
    for mail in mails:
        send_mail.call(mail.pk)
    client, all_of_them = browser_of(front_desk), reverse("post:failed")
    pages = [reverse("post:mail", args=[mail.job.code, mail.pk]) for mail in mails]
    today = client.get("/").content.decode()
    assert [page in today for page in pages] == [True] * 20 + [False] * 23
    assert f'href="{all_of_them}"' in today
    assert "23 more" in today
    first = client.get(all_of_them).content.decode()
    assert [page in first for page in pages] == [True] * 40 + [False] * 3
    second = client.get(f"{all_of_them}?after={mails[39].pk}").content.decode()
    assert [page in second for page in pages] == [False] * 40 + [True] * 3


def test_mail_about_money_is_on_the_list_of_those_who_keep_it(put_in, office, browser_of, mechanic, owner):
    office.answer_to["RCPT"] = "550 no"
    mail = put_in(kind=MailKind.BILL)
    send_mail.call(mail.pk)
    assert "sheet no. 1" in browser_of(owner).get(reverse("post:failed")).content.decode()
    assert "sheet no. 1" not in browser_of(mechanic).get(reverse("post:failed")).content.decode()
    assert "sheet no. 1" not in browser_of(mechanic).get("/").content.decode()


def test_answers_go_to_the_workshop(put_in, office, workshop):
    """RFC 5322, 3.6.2: Reply-To names where answers go; none where that is the sender."""
    type(workshop).objects.update(email="desk@crankwell.example")
    send_mail.call(put_in().pk)
    assert office.only_letter()["Reply-To"] == "desk@crankwell.example"


def test_without_an_address_of_its_own_answers_go_to_the_sender(put_in, office, workshop):
    type(workshop).objects.update(email="")
    send_mail.call(put_in().pk)
    assert office.only_letter()["Reply-To"] is None
