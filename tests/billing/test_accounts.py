"""The lists for the accountant, read by Python's own csv module and added up once more."""

import csv
import io
import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.models import Customer
from jobs.billing.payment_actions import enter_payment
from jobs.billing.queries import last_quarter, to_bill


def rows_of(client, name, **more):
    today = timezone.localdate()
    asked = {"list": name, "first": today - timedelta(days=1), "last": today}
    answer = client.get(reverse("billing:accounts"), asked | more)
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))


def test_every_rate_of_every_bill_is_a_line_and_credit_notes_are_below_nought(
    browser_of, front_desk, job, billed, credited, standard, exempt
):
    hours, part = to_bill(job)
    bill = billed(job, rates={hours.pk: standard, part.pk: exempt})
    note = credited(bill)
    rows = rows_of(browser_of(front_desk), "bills")
    assert [(row["number"], row["VAT rate"], row["net"], row["VAT"]) for row in rows] == [
        (bill.number, "Standard", "160.00", "32.00"),
        (bill.number, "Exempt", "12.40", "0.00"),
        (note.number, "Standard", "-160.00", "-32.00"),
        (note.number, "Exempt", "-12.40", "0.00"),
    ]
    assert sum(Decimal(row["gross"]) for row in rows) == 0
    assert {row["credits"] for row in rows} == {"", bill.number}


def test_payments_are_listed_by_the_day_they_were_paid(browser_of, front_desk, job, billed, desk):
    bill = billed(job)
    enter_payment(
        bill=bill,
        id=uuid.uuid4(),
        amount=Decimal("206.88"),
        refund=False,
        paid_on=timezone.localdate(desk.at),
        paid_by="transfer",
        note="-holds",
        actor=desk,
    )
    row = rows_of(browser_of(front_desk), "payments")[0]
    assert (row["bill"], row["amount"], row["paid by"], row["note"]) == (
        bill.number,
        "206.88",
        "bank transfer",
        "'-holds",
    )


@pytest.mark.parametrize("name", ['=HYPERLINK("x")', "+1", "@sum", "－1", "\tx"])
def test_no_name_is_taken_for_a_formula(browser_of, front_desk, job, billed, name):
    Customer.objects.update(name=name)
    job.refresh_from_db()
    billed(job)
    assert rows_of(browser_of(front_desk), "bills")[0]["customer"] == f"'{name}"


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Holt;=1+1", "Holt;'=1+1"),
        ("Holt; +1", "Holt; '+1"),
        ("Holt\n@sum", "Holt\n'@sum"),
        ("Holt; Reed", "Holt; Reed"),
    ],
)
def test_nor_where_a_spreadsheet_parts_cells_by_semicolons(browser_of, front_desk, job, billed, name, shown):
    Customer.objects.update(name=name)
    job.refresh_from_db()
    billed(job)
    assert rows_of(browser_of(front_desk), "bills")[0]["customer"] == shown


def test_a_period_that_ends_before_it_begins_is_refused(browser_of, front_desk):
    asked = {"list": "bills", "first": "2026-11-02", "last": "2026-11-01"}
    answer = browser_of(front_desk).get(reverse("billing:accounts"), asked)
    assert answer.status_code == 422


@pytest.mark.parametrize(
    ("day", "first", "last"),
    [
        (date(2026, 11, 28), date(2026, 7, 1), date(2026, 9, 30)),
        (date(2026, 1, 1), date(2025, 10, 1), date(2025, 12, 31)),
        (date(2028, 4, 2), date(2028, 1, 1), date(2028, 3, 31)),
    ],
)
def test_the_quarter_before_is_offered(day, first, last):
    assert last_quarter(day) == (first, last)
