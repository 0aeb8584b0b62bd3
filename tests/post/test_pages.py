"""Sending from the pages: what is asked, what a mail's page shows, and who may."""

import uuid
from urllib.parse import parse_qs, unquote, urlsplit

import pytest
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from garage.mail.models import MailSettings
from garage.models import Customer
from jobs.post.models import Mail, MailText
from jobs.post.papers import mail_program_link
from jobs.post.queries import standing_of
from jobs.post.tasks import send_mail
from jobs.privacy.actions import forget
from jobs.privacy.held import held_about


@pytest.fixture
def desk(browser_of, front_desk):
    return browser_of(front_desk)


@pytest.fixture
def page(job, issued, put_in):
    """The page on which the papers of the job are sent; mail is set up."""
    issued("restore sheet", b"%PDF-1.7 restore")
    issued("bench record", b"%PDF-1.7 bench")
    issued()
    return reverse("documents:send", args=[job.code])


def typed(page, **more):
    form = page.context["form"]
    begun = {name: form.initial[name] for name in ("address", "subject_line", "text", "papers")}
    return begun | {"idempotency_key": uuid.uuid4()} | more


def test_the_form_begins_with_the_customer_the_text_and_the_papers_they_usually_get(desk, page):
    shown = desk.get(page)
    begun = shown.context["form"].initial
    assert (begun["address"], begun["subject_line"]) == ("mira@holt.example", "Papers of KLM 204 B")
    assert begun["text"].startswith("Dear Mira Holt,\n\n")
    offered = [label for _, label in shown.context["form"].fields["papers"].choices]
    assert offered == ["customer's sheet no. 1", "restore sheet no. 1"]  # the bench record is the workshop's own
    assert len(begun["papers"]) == 2


def test_what_was_changed_before_it_went_is_what_goes(desk, page, job, office):
    answer = desk.post(page, typed(desk.get(page), text="Dear Mira,\r\n\r\nas promised.", subject_line="Your Alder"))
    mail = Mail.objects.get()
    assert answer.url == reverse("post:mail", args=[job.code, mail.pk])
    send_mail.call(mail.pk)
    letter = office.only_letter()
    assert letter["Subject"] == "Your Alder"
    assert letter.get_body().get_content().split() == ["Dear", "Mira,", "as", "promised."]
    assert [part.get_filename() for part in letter.iter_attachments()] == [
        f"{job.code}-customer-sheet-1.pdf", f"{job.code}-restore-sheet-1.pdf",
    ]  # fmt: skip


def test_an_address_typed_for_a_customer_without_one_is_kept_if_it_is_ticked(desk, page):
    Customer.objects.update(email="")
    for keep, known in [({}, ""), ({"keep_address": "on"}, "mira@holt.example")]:
        desk.post(page, typed(desk.get(page), address="mira@holt.example", **keep))
        assert Customer.objects.get().email == known


@pytest.mark.parametrize(
    "wrong",
    [{"address": "mira at holt"}, {"address": ""}, {"subject_line": "a\nBcc: all@holt.example"}, {"papers": ["x.pdf"]}],
)
def test_what_cannot_go_is_refused_and_nothing_is_put_in(desk, page, wrong):
    assert desk.post(page, typed(desk.get(page), **wrong)).status_code == 422
    assert not Mail.objects.exists()


def test_without_mail_the_page_offers_the_files_and_a_ready_letter(desk, page):
    MailSettings.objects.update(in_use=False)
    shown = desk.get(page)
    text = shown.content.decode()
    assert "Mail is not set up here." in text
    assert text.count("download=") == 2
    assert 'href="mailto:mira@holt.example?subject=Papers%20of%20KLM%20204%20B&amp;body=Dear%20Mira%20Holt' in text
    assert "It cannot attach files" in text


def test_what_was_sent_from_one_s_own_mail_program_is_recorded_and_goes_nowhere(desk, page, job, office):
    MailSettings.objects.update(in_use=False)
    key = uuid.uuid4()
    for _ in range(2):
        answer = desk.post(page, typed(desk.get(page), by_hand="yes", idempotency_key=key))
    mail = Mail.objects.get()
    assert answer.url == reverse("post:mail", args=[job.code, mail.pk])
    assert standing_of(mail).state == "sent by hand"
    assert [line.sentence for line in job.journal] == ["Mail sent by hand: customer's sheet no. 1, restore sheet no. 1"]
    assert not DBTaskResult.objects.exists()


def test_a_ready_letter_keeps_every_sign_of_its_words():
    """RFC 6068, 5: line breaks are %0D%0A, and &, ? and % stand encoded."""
    link = mail_program_link("mira@holt.example", "A & B?", "50 %\nDear Mira Höltñ")
    assert "%0D%0A" in link
    parts = urlsplit(link)
    assert unquote(parts.path) == "mira@holt.example"
    assert parse_qs(parts.query) == {"subject": ["A & B?"], "body": ["50 %\r\nDear Mira Höltñ"]}


def test_a_mail_that_failed_stands_on_today_and_on_its_page_with_a_way_out(desk, page, office, job):
    office.answer_to["RCPT"] = "550 <b>no</b> such box"
    desk.post(page, typed(desk.get(page)))
    mail = Mail.objects.get()
    send_mail.call(mail.pk)
    address = reverse("post:mail", args=[job.code, mail.pk])
    today = desk.get(reverse("board:board")).content.decode()
    assert "Mail that failed" in today
    assert address in today
    shown = desk.get(address).content.decode()
    assert "550 &lt;b&gt;no&lt;/b&gt; such box" in shown
    assert "Try again" in shown
    paper = mail.attachments.first()
    stored = desk.get(reverse("post:attachment", args=[job.code, mail.pk, paper.pk]))
    assert stored.content.startswith(b"%PDF-1.7 customer's sheet")
    desk.post(reverse("post:sent-by-hand", args=[job.code, mail.pk]))
    assert "Mail that failed" not in desk.get(reverse("board:board")).content.decode()
    assert "sent by hand" in desk.get(address).content.decode()


def test_mail_about_money_is_not_the_mechanic_s(put_in, browser_of, mechanic, desk, job):
    mail = put_in(kind="bill")
    address = reverse("post:mail", args=[job.code, mail.pk])
    assert (desk.get(address).status_code, browser_of(mechanic).get(address).status_code) == (200, 403)
    stop = reverse("post:stop", args=[job.code, mail.pk])
    assert browser_of(mechanic).post(stop).status_code == 403
    assert address not in browser_of(mechanic).get(reverse("board:job", args=[job.code])).content.decode()


def test_the_owner_s_text_begins_the_next_mail(browser_of, owner, desk, page):
    edit = reverse("post:text", args=["papers"])
    words = {"subject_line": "{registration} is done", "text": "Hello {customer}", "row_version": 1}
    assert browser_of(owner).post(edit, words).status_code == 302
    begun = desk.get(page).context["form"].initial
    assert (begun["subject_line"], begun["text"]) == ("KLM 204 B is done", "Hello Mira Holt")
    assert browser_of(owner).post(edit, words | {"text": "other"}).status_code == 409
    assert browser_of(owner).post(edit, words | {"text": "{custmer}", "row_version": 2}).status_code == 422
    assert MailText.objects.get().text == "Hello {customer}"


def test_an_erased_customer_s_mails_keep_when_and_what_and_nothing_of_the_person(
    put_in, office, job, owner, actor, desk
):
    sent, waiting = put_in(address="m.h@elsewhere.example"), put_in()
    office.answer_to["RCPT"] = "550 m.h@elsewhere.example unknown"
    send_mail.call(sent.pk)
    assert len(held_about(job.vehicle.customer)["mails"]) == 2
    forget(
        customer=job.vehicle.customer, reason="asked for it", photographs=(), plates=False, words=[],
        idempotency_key=uuid.uuid4(), actor=type(actor)(person=owner, at=actor.at),
    )  # fmt: skip
    kept = [*Mail.objects.values_list("address", "subject_line", "text"), *sent.steps.values_list("sentence", "answer")]
    assert {row for row in kept if len(row) == 3} == {("[erased]", "[erased]", "[erased]")}
    assert "elsewhere" not in str(kept)
    sent.refresh_from_db()
    assert sent.what == "customer's sheet no. 1"
    office.answer_to.clear()
    assert send_mail.call(waiting.pk) == "Nothing to send."
    assert office.delivered == []
    assert desk.get(reverse("documents:send", args=[job.code])).status_code == 409
