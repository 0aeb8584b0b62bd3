"""The pages of bills, and who opens them."""

import uuid
from datetime import timedelta
from decimal import Decimal
from io import BytesIO

import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone

from garage.models import Workshop
from jobs.billing.models import Bill, Payment
from jobs.billing.queries import to_bill
from jobs.vat.models import VatRate
from tests.factories import JobFactory


def form_of(job, rate, **more):
    today = timezone.localdate()
    form = {
        "idempotency_key": uuid.uuid4(),
        "supplied_on": today,
        "due_on": today + timedelta(days=14),
        "remarks": "Thank you.",
        "issue": "yes",
    }
    return form | {f"rate-{line.pk}": rate.pk for line in to_bill(job)} | more


def words_of(answer):
    return " ".join(page.extract_text() for page in pypdf.PdfReader(BytesIO(answer.content)).pages)


def test_the_front_desk_bills_a_job_and_opens_the_paper(browser_of, front_desk, job, standard, exempt):
    Workshop.objects.update(vat_number="XQ 402 118", bill_foot="Account 0042 at the Lockgate bank")
    client, part = browser_of(front_desk), to_bill(job)[1]
    form = form_of(job, standard) | {f"rate-{part.pk}": exempt.pk}
    answer = client.post(reverse("billing:new", args=[job.code]), form, follow=True)
    bill = Bill.objects.get()
    assert f"Bill {bill.number} issued" in answer.content.decode()
    paper = words_of(client.get(reverse("billing:paper", args=[bill.pk])))
    for words in (
        bill.number, "Mira Holt", "4 Quarry Lane", "Fitting and base timing", "2.5 h", "160.00", "32.00", "204.40",
        exempt.wording, "XQ 402 118", "Account 0042 at the Lockgate bank", "Thank you.",
    ):  # fmt: skip
        assert words in paper


def test_a_double_tap_issues_one_bill_and_leads_to_it(browser_of, front_desk, job, standard, paper_at_once):
    form, client = form_of(job, standard), browser_of(front_desk)
    first, second = (client.post(reverse("billing:new", args=[job.code]), form) for _ in range(2))
    assert first.url == second.url == reverse("billing:bill", args=[Bill.objects.get().pk])


def test_a_page_on_which_one_line_was_billed_meanwhile_issues_nothing(browser_of, front_desk, job, billed, standard):
    form, hours = form_of(job, standard), to_bill(job)[0]
    billed(job, rates={hours.pk: standard})
    answer = browser_of(front_desk).post(reverse("billing:new", args=[job.code]), form)
    assert answer.status_code == 422
    assert "billed or undone meanwhile" in answer.content.decode()
    assert Bill.objects.count() == 1


@pytest.mark.parametrize("forged", [{"rate-x": "1"}, {f"rate-{uuid.uuid4()}": "999"}])
def test_a_line_or_rate_that_is_none_is_refused(browser_of, front_desk, job, standard, forged):
    answer = browser_of(front_desk).post(reverse("billing:new", args=[job.code]), form_of(job, standard) | forged)
    assert answer.status_code == 422
    assert not Bill.objects.exists()


def test_a_double_tap_issues_one_credit_note(browser_of, front_desk, job, billed):
    bill, client = billed(job), browser_of(front_desk)
    form = {"idempotency_key": uuid.uuid4(), "reason": "Wrong name", "lines": [bill.lines.first().pk]}
    first, second = (client.post(reverse("billing:credit", args=[bill.pk]), form) for _ in range(2))
    assert first.url == second.url
    assert bill.credit_notes.count() == 1


def test_the_total_is_shown_before_anything_is_issued(browser_of, front_desk, job, standard):
    form = form_of(job, standard)
    del form["issue"]
    answer = browser_of(front_desk).post(reverse("billing:new", args=[job.code]), form)
    assert answer.status_code == 200
    assert "206.88" in answer.content.decode()
    assert not Bill.objects.exists()


def test_a_bill_with_nothing_on_it_is_refused_on_the_page(browser_of, front_desk, job, standard):
    empty = {f"rate-{line.pk}": "" for line in to_bill(job)}
    answer = browser_of(front_desk).post(reverse("billing:new", args=[job.code]), form_of(job, standard) | empty)
    assert answer.status_code == 422
    assert "Nothing is on the bill" in answer.content.decode()


def test_without_a_rate_the_page_says_what_is_missing(browser_of, front_desk, job):
    assert "No VAT rate yet" in browser_of(front_desk).get(reverse("billing:new", args=[job.code])).content.decode()


@pytest.mark.parametrize(("percent", "status"), [("200", 422), ("-1", 422), ("50.01", 422), ("x", 422), ("19", 302)])
def test_a_rate_of_vat_that_no_country_has_is_refused(browser_of, owner, percent, status):
    form = {"idempotency_key": uuid.uuid4(), "name": "Standard", "percent": percent}
    assert browser_of(owner).post(reverse("billing:add-rate"), form).status_code == status
    assert VatRate.objects.exists() == (status == 302)


def test_the_owner_sets_the_form_of_numbers_and_is_told_of_one_that_is_none(browser_of, owner):
    url, here = reverse("billing:settings"), Workshop.objects.get()
    form = {"row_version": here.row_version, "bill_numbers": "YYYY", "days_to_pay": "30",
            "quote_days": "30", "beyond_quote_percent": "10"}  # fmt: skip
    assert browser_of(owner).post(url, form).status_code == 422
    assert browser_of(owner).post(url, form | {"bill_numbers": "YY/###"}).status_code == 302
    assert Workshop.objects.get().bill_numbers == "YY/###"


def test_a_payment_is_entered_and_one_too_many_is_refused_on_the_page(browser_of, front_desk, job, billed):
    bill, client = billed(job), browser_of(front_desk)
    form = {"id": uuid.uuid4(), "amount": "206.88", "paid_on": timezone.localdate(), "paid_by": "cash"}
    assert client.post(reverse("billing:pay", args=[bill.pk]), form).status_code == 302
    again = client.post(reverse("billing:pay", args=[bill.pk]), form | {"id": uuid.uuid4()})
    assert again.status_code == 422
    assert Payment.objects.get().amount == Decimal("206.88")


def test_a_credit_note_is_issued_from_its_bill(browser_of, front_desk, job, billed):
    bill = billed(job)
    form = {"idempotency_key": uuid.uuid4(), "reason": "Wrong name", "lines": [bill.lines.first().pk]}
    answer = browser_of(front_desk).post(reverse("billing:credit", args=[bill.pk]), form, follow=True)
    note = bill.credit_notes.get()
    assert note.gross == Decimal("192.00")  # 160.00 and 20 %, by hand
    assert "Wrong name" in answer.content.decode()


def test_a_bill_whose_file_was_changed_is_not_shown_as_sound(browser_of, front_desk, job, billed):
    bill = billed(job)
    with open(bill.file.path, "ab") as file:
        file.write(b"x")
    answer = browser_of(front_desk).get(reverse("billing:paper", args=[bill.pk]), follow=True)
    assert "was changed after issue" in answer.content.decode()


def test_mechanics_open_nothing_of_it(browser_of, mechanic, job, billed):
    bill, client = billed(job), browser_of(mechanic)
    pages = [reverse("billing:new", args=[job.code]), reverse("billing:list"), reverse("billing:accounts")]
    pages += [reverse(f"billing:{name}", args=[bill.pk]) for name in ("bill", "paper", "credit")]
    assert {client.get(page).status_code for page in pages} == {403}


def test_the_front_desk_changes_no_rates(browser_of, front_desk):
    assert browser_of(front_desk).get(reverse("billing:settings")).status_code == 403


@pytest.mark.parametrize("state", ["open", "overdue", "", "nonsense"])
def test_the_list_shows_bills_by_where_they_stand(browser_of, front_desk, job, billed, state):
    bill = billed(job)
    shown = bill.number in browser_of(front_desk).get(reverse("billing:list"), {"state": state}).content.decode()
    assert shown == (state != "overdue")


@pytest.mark.parametrize("state", ["open", ""])
def test_a_long_list_goes_on_from_its_last_bill(browser_of, front_desk, billed, entered, monkeypatch, state):
    monkeypatch.setattr("jobs.billing.list_views.A_PAGE", 2)
    jobs = JobFactory.create_batch(3)
    for job in jobs:
        entered(job, "part", "Rotor arm", "1", "12.40")
    numbers = [billed(job).number for job in jobs]
    client, url, found = browser_of(front_desk), reverse("billing:list"), []
    for asked in ({}, {"after": Bill.objects.order_by("pk")[1].pk}):
        page = client.get(url, {"state": state, **asked}).content.decode()
        found.append([number for number in numbers if number in page])
    assert found == ([numbers[:2], numbers[2:]] if state else [numbers[1:], numbers[:1]])
