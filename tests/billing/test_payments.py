"""Paid, part paid, overdue, and what goes back."""

import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from jobs.billing.models import Payment
from jobs.billing.payment_actions import PaymentRefusedError, enter_payment, withdraw_payment
from jobs.billing.queries import account_of, bills, payments
from tests.factories import JobFactory


@pytest.fixture
def bill(job, billed):
    """206.88 with VAT."""
    return billed(job)


@pytest.fixture
def paid(desk):
    """`paid(bill, "50")`: a payment of today, by card."""

    def enter(bill, amount, **more):
        values = {
            "id": uuid.uuid4(),
            "refund": False,
            "paid_on": timezone.localdate(desk.at),
            "paid_by": "card",
            "note": "",
            "actor": desk,
        }
        return enter_payment(bill=bill, amount=Decimal(amount), **values | more)

    return enter


def state(bill):
    return account_of(bill).state


def test_a_bill_is_unpaid_part_paid_and_paid(bill, paid):
    assert state(bill) == "unpaid"
    paid(bill, "100.00")
    assert (state(bill), account_of(bill).due) == ("part paid", Decimal("106.88"))
    paid(bill, "106.88")
    assert (state(bill), account_of(bill).due) == ("paid", 0)


def test_a_bill_is_overdue_from_the_day_after_it_was_due(job, billed, desk, paid):
    long_ago = replace(desk, at=desk.at - timedelta(days=20))
    today = timezone.localdate(desk.at)
    bill = billed(job, actor=long_ago, supplied_on=today - timedelta(days=20), due_on=today)
    assert state(bill) == "unpaid"
    bill.due_on = today - timedelta(days=1)
    assert state(bill) == "overdue"
    paid(bill, "206.88")
    assert state(bill) == "paid"


def test_a_payment_taken_back_counts_no_more_and_stays_in_the_book(bill, paid, desk):
    payment = paid(bill, "100.00")
    for _ in range(2):
        withdraw_payment(payment=payment, actor=desk)
    assert (state(bill), payments(bill)) == ("unpaid", [])
    assert Payment.objects.count() == 2


def test_a_payment_sent_twice_is_one(bill, paid):
    id = uuid.uuid4()
    for _ in range(2):
        paid(bill, "206.88", id=id)
    assert account_of(bill).received == Decimal("206.88")


def test_of_two_who_enter_the_same_payment_the_second_is_told(bill, paid):
    paid(bill, "206.88")
    with pytest.raises(PaymentRefusedError, match="Nothing is due"):
        paid(bill, "206.88")


@pytest.mark.parametrize(
    ("amount", "days", "words"),
    [
        ("206.89", 0, r"At most 206\.88 GBP is due"),
        ("0", 0, "above 0"),
        ("-5", 0, "above 0"),
        ("5", 1, "dated after today"),
        ("5", -400, "more than a year before"),
    ],
)
def test_money_that_cannot_have_been_paid_so_is_refused(bill, paid, desk, amount, days, words):
    with pytest.raises(PaymentRefusedError, match=words):
        paid(bill, amount, paid_on=timezone.localdate(desk.at) + timedelta(days=days))
    assert state(bill) == "unpaid"


def test_a_bill_that_was_credited_unpaid_is_settled(bill, credited):
    credited(bill)
    assert (state(bill), account_of(bill).due) == ("credited", 0)


def test_a_bill_that_was_paid_and_credited_is_given_back(bill, credited, paid):
    paid(bill, "206.88")
    credited(bill)
    assert (state(bill), account_of(bill).to_refund) == ("to refund", Decimal("206.88"))
    with pytest.raises(PaymentRefusedError, match="to be refunded"):
        paid(bill, "206.89", refund=True)
    paid(bill, "206.88", refund=True)
    assert account_of(bill).due == 0


def test_a_credit_note_itself_is_not_paid(bill, credited, paid):
    with pytest.raises(PaymentRefusedError, match="Enter the refund on bill"):
        paid(credited(bill), "5")


def test_the_database_keeps_payments_as_they_were_entered(bill, paid):
    paid(bill, "5")
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        Payment.objects.update(amount=6)


def test_the_list_of_what_is_open_agrees_with_the_account_of_each_bill(entered, billed, paid, credited):
    """Payments of tenths, which no binary fraction holds, leave nothing over."""
    made = []
    for _ in range(4):
        job = JobFactory()
        entered(job, "part", "Cap", "1", "0.25")
        made.append(billed(job))  # 0.30 with VAT
    for amount in ("0.10", "0.10", "0.10"):
        paid(made[0], amount)
    paid(made[1], "0.10")
    paid(made[2], "0.30")
    credited(made[2])
    assert set(bills("open")) == {bill for bill in made if account_of(bill).due}
    assert {account_of(bill).state for bill in bills("open")} == {"part paid", "to refund", "unpaid"}
    assert list(bills("overdue")) == []
