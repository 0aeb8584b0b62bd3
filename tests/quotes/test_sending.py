"""Quotes and bills go to the customer by mail: with their own words, and nothing of money in the job's journal."""

import uuid

import pytest
from django.urls import reverse

from garage.record.models import TrailEntry
from jobs.post.models import Mail
from jobs.post.tasks import send_mail
from tests.mail.post_office import open_post_office, set_up_mail


@pytest.fixture
def office(workshop):
    with open_post_office() as opened:
        set_up_mail(opened.port)
        yield opened


def sent(client, page):
    """The mail as the page offers it, put in and handed over by a worker."""
    begun = client.get(page).context["form"].initial
    typed = {"address": "mira@holt.example", "subject_line": begun["subject_line"], "text": begun["text"]}
    answer = client.post(page, typed | {"idempotency_key": uuid.uuid4()})
    assert answer.status_code == 302
    mail = Mail.objects.get()
    send_mail.call(mail.pk)
    return mail


def test_a_quote_goes_out_with_its_total_and_its_last_day(job, quoted, browser_of, front_desk, office):
    quote = quoted(job, "160.00")
    client = browser_of(front_desk)
    sent(client, reverse("quotes:send", args=[job.code, quote.pk]))
    letter = office.only_letter()
    assert letter["Subject"] == f"Quote {quote.number} for {job.vehicle.registration}"
    words = " ".join(letter.get_body().get_content().split())
    assert f"It comes to 192.00 GBP and is valid until {quote.valid_until:%-d %B %Y}." in words  # 160.00 and 20 % VAT
    (paper,) = letter.iter_attachments()
    assert paper.get_content() == f"%PDF of {quote.number}".encode()
    page = client.get(reverse("quotes:quote", args=[job.code, quote.pk])).content.decode()
    assert f"Mail sent: quote {quote.number}" in page


def test_a_bill_s_mail_stands_in_the_bill_s_trail_and_not_in_the_journal(
    job, entered, billed, browser_of, front_desk, office
):
    entered(job, "part", "Rotor arm", "1", "12.40")
    bill = billed(job)
    before = job.journal.count()
    mail = sent(browser_of(front_desk), reverse("billing:send", args=[bill.pk]))
    assert job.journal.count() == before
    trail = TrailEntry.objects.filter(subject_kind="bill", subject_id=bill.pk, event__startswith="mail")
    assert [entry.sentence for entry in trail] == [f"Mail to the customer: bill {bill.number}", f"Mail sent: {mail}"]
    assert office.only_letter()["Subject"].startswith(f"Bill {bill.number} for ")
