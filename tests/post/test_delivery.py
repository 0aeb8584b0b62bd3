"""A mail from its press to its end: sent once, tried again, refused, given up, cut off.

Against aiosmtpd, a mail server written by others, in the test's own process.
"""

import uuid
from datetime import timedelta
from functools import partial

import pytest
import time_machine
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from garage.mail.models import MailSettings
from garage.mail.password import sealed
from garage.mail.sending import hand_over
from jobs.post import actions, outcome_actions, tasks
from jobs.post.models import Mail, MailKind, MailStep
from jobs.post.queries import failed_mails, standing_of
from jobs.post.refusals import MailRefusedError
from tests.mail.post_office import USER, open_post_office, silent_server
from tests.post.conftest import SHEET

BUSY, NO_SUCH_BOX = "451 4.7.1 come back later", "550 5.1.1 mira@holt.example: no such box"


def steps_of(mail):
    return list(mail.steps.values_list("kind", flat=True))


def tried(mail):
    """One try, as a worker makes it."""
    tasks.send_mail.call(mail.pk)
    return standing_of(mail)


def waiting_tasks():
    return list(DBTaskResult.objects.order_by("enqueued_at").values_list("run_after", flat=True))


def failed():
    return list(failed_mails(list(MailKind)))


def test_a_worker_sends_the_mail_with_its_paper_byte_for_byte(put_in, office, job):
    mail = put_in()
    errand = DBTaskResult.objects.get()
    assert (errand.task_path, errand.args_kwargs["kwargs"]) == ("jobs.post.tasks.send_mail", {"mail": mail.pk})
    tried(mail)
    letter = office.only_letter()
    assert (letter["To"], letter["Subject"]) == ("mira@holt.example", "Papers of KLM 204 B")
    (paper,) = letter.iter_attachments()
    assert (paper.get_filename(), paper.get_content()) == (f"{job.code}-customer-sheet-1.pdf", SHEET)
    standing = standing_of(mail)
    assert (standing.state, standing.last.answer, standing.tries) == ("sent", "250 2.0.0 queued as 4F1A", 1)
    assert [line.sentence for line in job.journal] == [
        "Mail to the customer: customer's sheet no. 1", "Mail sent: customer's sheet no. 1",
    ]  # fmt: skip


def test_one_press_is_one_mail_however_often_it_is_sent(put_in, issued, office):
    key = uuid.uuid4()
    first, second = put_in(idempotency_key=key), put_in(idempotency_key=key)
    assert first == second
    for _ in range(3):
        tried(first)
    assert (len(office.delivered), Mail.objects.count(), len(waiting_tasks())) == (1, 1, 1)


def test_nothing_goes_out_for_a_change_that_is_taken_back(put_in):
    with transaction.atomic():
        put_in()
        transaction.set_rollback(True)
    assert not DBTaskResult.objects.exists()


def test_a_refused_recipient_is_said_at_once_and_not_tried_again(put_in, office, job):
    office.answer_to["RCPT"] = NO_SUCH_BOX
    mail = put_in()
    standing = tried(mail)
    assert (standing.state, standing.sentence) == ("failed", "localhost refused the recipient.")
    assert standing.last.answer == NO_SUCH_BOX
    assert len(waiting_tasks()) == 1  # the try that was made, and no other
    assert failed() == [mail]
    # The server's answer names a person; the journal keeps our own words alone.
    assert job.journal.last().sentence == "Mail failed: customer's sheet no. 1. localhost refused the recipient."


def test_a_server_that_is_busy_is_asked_again_later(put_in, office):
    office.answer_to["RCPT"] = BUSY
    mail = put_in()
    standing = tried(mail)
    assert (standing.state, standing.last.answer) == ("waiting", BUSY)
    assert standing.last.again_at == waiting_tasks()[-1]
    assert timedelta(seconds=50) < standing.last.again_at - timezone.now() <= timedelta(minutes=1)
    assert failed() == []
    office.answer_to.clear()
    assert tried(mail).state == "sent"
    assert steps_of(mail) == ["begun", "put off", "begun", "sent"]


def test_a_server_that_hangs_is_asked_again_later(put_in, monkeypatch):
    mail = put_in()
    monkeypatch.setattr(tasks, "hand_over", partial(hand_over, answer_s=0.2))
    with silent_server() as port:
        MailSettings.objects.update(port=port)
        standing = tried(mail)
    assert standing.state == "waiting"
    assert standing.sentence.startswith("localhost did not answer within 0.2 s. Check port and TLS. Next try ")


def test_pauses_grow_and_after_a_day_the_mail_is_given_up(put_in, office):
    office.answer_to["DATA"] = BUSY
    mail, pauses = put_in(), []
    now = timezone.now()
    while True:
        with time_machine.travel(now, tick=False):
            standing = tried(mail)
        if not standing.waits:
            break
        pauses.append(standing.last.again_at - standing.last.made_at)
        now = standing.last.again_at
    assert pauses == sorted(pauses)
    assert len(pauses) == 7
    assert sum(pauses, timedelta(0)) <= timedelta(days=1)
    assert standing.sentence == "Given up after a day. localhost put the mail off."
    assert failed() == [mail]


def test_what_failed_is_tried_again_when_somebody_says_so(put_in, office, actor):
    office.answer_to["RCPT"] = NO_SUCH_BOX
    mail = put_in()
    tried(mail)
    office.answer_to.clear()
    for _ in range(2):
        actions.try_again(mail=mail, actor=actor)
    assert (len(waiting_tasks()), failed()) == (2, [])
    assert tried(mail).state == "sent"
    with pytest.raises(MailRefusedError, match="This mail is sent"):
        actions.try_again(mail=mail, actor=actor)


@pytest.mark.parametrize("decide", [actions.sent_by_hand, actions.stop])
def test_what_somebody_dealt_with_is_no_longer_tried_and_stands_on_no_list(put_in, office, actor, decide):
    office.answer_to["RCPT"] = BUSY
    mail = put_in()
    tried(mail)
    decide(mail=mail, actor=actor)
    office.answer_to.clear()
    tried(mail)
    assert (office.delivered, failed()) == ([], [])


@pytest.mark.filterwarnings("ignore:Requiring AUTH while not requiring TLS")
def test_a_wrong_password_fails_at_once_and_is_in_no_word_of_the_record(put_in, job):
    mail = put_in()
    with open_post_office(asks_for_password=True) as strict:
        MailSettings.objects.update(port=strict.port, user_name=USER, sealed_password=sealed("dwell-angle"))
        standing = tried(mail)
    assert (standing.state, standing.last.answer) == ("failed", "535 5.7.8 Authentication credentials invalid")
    said = [*job.journal.values_list("sentence", flat=True), *MailStep.objects.values_list("sentence", "answer")]
    assert "dwell" not in str(said)


@pytest.fixture
def killed_after_sending(monkeypatch):
    """`killed_after_sending(mail)`: a worker that ends once the server has the mail, before that is written down."""

    def killed(**written):
        raise SystemExit

    def kill(mail):
        with monkeypatch.context() as patched:
            patched.setattr(outcome_actions, "keep_sent", killed)
            with pytest.raises(SystemExit):
                tasks.send_mail.call(mail.pk)

    return kill


def test_a_worker_killed_between_server_and_record_sends_the_same_mail_again_and_says_so(
    put_in, office, job, killed_after_sending
):
    mail = put_in()
    killed_after_sending(mail)
    assert steps_of(mail) == ["begun"]
    assert tried(mail).state == "sent"
    assert steps_of(mail) == ["begun", "cut off", "begun", "sent"]
    # Two copies; a mail program tells by the id that they are one (RFC 5322, 3.6.4).
    first, second = office.delivered
    assert first["Message-ID"] == second["Message-ID"] == mail.message_id
    assert "it may have arrived" in " ".join(line.sentence for line in job.journal)


def test_a_mail_that_two_workers_died_of_goes_out_no_third_time(put_in, office, killed_after_sending, actor):
    mail = put_in()
    for _ in range(2):
        killed_after_sending(mail)
    standing = tried(mail)
    assert (standing.state, len(office.delivered)) == ("failed", 2)
    assert standing.sentence == "Cut off twice: it may have arrived. Ask the customer first."
    actions.try_again(mail=mail, actor=actor)
    assert tried(mail).state == "sent"


def test_a_paper_that_is_not_as_it_was_issued_does_not_go_out(put_in, office):
    mail = put_in()
    attachment = mail.attachments.get()
    default_storage.delete(attachment.stored_as)
    default_storage.save(attachment.stored_as, ContentFile(b"another paper"))
    assert tried(mail).sentence.endswith("was changed after issue.")
    assert office.delivered == []


def test_what_breaks_here_is_tried_again_and_stays_no_secret(put_in, monkeypatch, caplog):
    mail = put_in()

    def broken(*args):
        raise KeyError("a name")

    monkeypatch.setattr(tasks, "hand_over", broken)
    standing = tried(mail)
    assert (standing.state, standing.last.sentence) == ("waiting", "Something broke here. The log names it.")
    assert "could not be handed over" in caplog.text


def test_after_mail_was_turned_off_what_waits_fails_in_words(put_in):
    mail = put_in()
    MailSettings.objects.update(in_use=False)
    assert tried(mail).sentence == "Mail is not set up."


def test_without_mail_nothing_is_put_in(put_in):
    MailSettings.objects.update(in_use=False)
    with pytest.raises(MailRefusedError, match="send it yourself"):
        put_in()


@pytest.mark.parametrize("change", [{"address": "x@y.example"}, {"text": "other"}, {"put_in_at": timezone.now()}])
def test_what_was_put_in_does_not_change(put_in, change):
    put_in()
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        Mail.objects.update(**change)


def test_a_step_and_an_attachment_do_not_change(put_in):
    mail = put_in()
    tried(mail)
    for rows, change in [(mail.steps, {"answer": "x"}), (mail.attachments, {"stored_as": "x"})]:
        with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
            rows.update(**change)
