"""Writing down what was paid on a bill, and taking it back."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from garage.record import trail
from garage.record.actor import Actor
from garage.record.append import append, withdraw
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from jobs.billing.models import Bill, BillKind, Payment
from jobs.billing.queries import account_of

# Sanity only: a deposit may be older than its bill, but not that much.
LONGEST_BEFORE = timedelta(days=366)


class PaymentRefusedError(RuleRefusedError):
    """Money that cannot have been paid so. Says why."""


@transaction.atomic
def enter_payment(
    *, bill: Bill, id: UUID, amount: Decimal, refund: bool, paid_on: date, paid_by: str, note: str, actor: Actor
) -> Payment:
    """Write a payment on `bill` down, or with `refund` one back to the customer.

    Raises
    ------
    PaymentRefusedError
        If it is more than is due, more than is to be given back, on a credit note, or of a day that cannot be.
    """
    bill = Bill.objects.select_for_update(of=("self",)).get(pk=bill.pk)  # of two who enter it, the second waits
    if not Payment.objects.filter(pk=id).exists():
        _refuse_what_cannot_be(bill, amount=amount, refund=refund, paid_on=paid_on, today=timezone.localdate(actor.at))
    payment, is_new = append(
        Payment,
        id=id,
        actor=actor,
        bill=bill,
        amount=amount,
        refund=refund,
        paid_on=paid_on,
        paid_by=paid_by,
        note=note,
    )
    if is_new:
        what = "Refunded" if refund else "Paid"
        sentence = f"{what} {amount} {bill.currency} on {paid_on:%-d %b %Y}, {payment.get_paid_by_display()}"
        trail.write(Event.PAYMENT_ENTERED, bill, sentence, actor=actor, figures={"payment": str(payment.pk)})
    return payment


def _refuse_what_cannot_be(bill: Bill, *, amount: Decimal, refund: bool, paid_on: date, today: date) -> None:
    if bill.kind != BillKind.BILL:
        raise PaymentRefusedError(f"A credit note is not paid. Enter the refund on bill {bill.credits}.")
    if amount <= 0:
        raise PaymentRefusedError("Enter an amount above 0.")
    if paid_on > today:
        raise PaymentRefusedError("The payment is dated after today.")
    if paid_on < bill.issued_on - LONGEST_BEFORE:
        raise PaymentRefusedError("The payment is dated more than a year before its bill.")
    account = account_of(bill)
    if refund and amount > account.to_refund:
        raise PaymentRefusedError(f"At most {account.to_refund} {bill.currency} is to be refunded.")
    if not refund and account.due <= 0:
        raise PaymentRefusedError("Nothing is due on this bill.")
    if not refund and amount > account.due:
        raise PaymentRefusedError(f"At most {account.due} {bill.currency} is due.")


@transaction.atomic
def withdraw_payment(*, payment: Payment, actor: Actor) -> None:
    """Take a payment back that was entered by mistake. It stays in the book, and counts no more."""
    bill = Bill.objects.select_for_update(of=("self",)).get(pk=payment.bill_id)
    if withdraw(payment, actor=actor):
        sentence = f"Undone: {payment.amount} {bill.currency} of {payment.paid_on:%-d %b %Y}"
        trail.write(Event.PAYMENT_WITHDRAWN, bill, sentence, actor=actor, figures={"payment": str(payment.pk)})
