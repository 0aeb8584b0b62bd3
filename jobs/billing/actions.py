"""Issuing bills and credit notes: under the next number, once, and never changed."""

import hashlib
from collections.abc import Callable, Collection, Mapping
from datetime import date, datetime
from uuid import UUID

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from garage.customers.actions import change_customer
from garage.customers.models import Customer
from garage.files.storage import discarded_on_failure
from garage.people.queries import get_workshop
from garage.quantities.days import TOO_FAR, too_far
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import SentBeforeError
from garage.record.plain import Plain
from garage.record.refusals import RuleRefusedError
from jobs.billing.against_quote import QuoteShare, share_of
from jobs.billing.bill_data import ChosenLine, Paper, bill_data
from jobs.billing.models import Bill, BillKind, BillLine, BillRateSum, BillSerial
from jobs.billing.numbers import NumberForm
from jobs.billing.queries import last_issued_on, lines_to_credit, to_bill
from jobs.billing.setting import set_bill
from jobs.job.models import Job
from jobs.vat.models import VatRate
from jobs.vat.sums import MOST_MONEY, NOUGHT, sums_of

# How often a paper is set again because its number went to another meanwhile.
TRIES = 10


class BillRefusedError(RuleRefusedError):
    """A bill or credit note cannot be issued now. Says why."""


class ClockBehindError(BillRefusedError):
    """The clock stands before the day of the latest bill; whoever knows that it is right may say so."""

    def __init__(self, today: date, latest: date) -> None:
        super().__init__(
            f"The clock says {today:%-d %b %Y}, but the latest bill is of {latest:%-d %b %Y}. "
            "Set the clock right, or confirm the date below."
        )


class BeyondQuoteError(BillRefusedError):
    """The bill goes further beyond what the customer agreed to than the workshop bills without asking."""

    def __init__(self, share: QuoteShare) -> None:
        super().__init__(
            f"Bills go {share.beyond_in_all} beyond the {share.agreed.total} that the customer agreed to, before VAT. "
            f"That is more than {share.percent} %. Ask the customer, or confirm below."
        )


def issue_bill(
    *,
    job: Job,
    rates: Mapping[UUID, VatRate],
    supplied_on: date,
    due_on: date,
    remarks: str,
    idempotency_key: UUID,
    actor: Actor,
    date_is_right: bool = False,
    beyond_is_right: bool = False,
    buyer_country: str = "",
) -> Bill:
    """Issue a bill of `job` for the hours and parts named in `rates`, each at its rate.

    Setting the paper takes a moment and is done before the transaction: nobody's tick waits for it. If its number goes
    to another bill meanwhile, it is set once more.

    Raises
    ------
    BillRefusedError
        If there is nothing on it, if something of it is on another bill, if its dates make no sense, or if it goes far
        beyond the quote and nobody said that this is right.
    SentBeforeError
        If the same form came before with other lines.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set papers.
    """
    known = Bill.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        if set(known.lines.values_list("cost_line_id", flat=True)) != set(rates):
            raise SentBeforeError
        return known

    def decide() -> Paper:
        paper = bill_paper(
            job=job,
            rates=rates,
            supplied_on=supplied_on,
            due_on=due_on,
            remarks=remarks,
            at=actor.at,
            buyer_country=buyer_country,
        )
        _refuse_the_past(paper.issued_on, date_is_right=date_is_right)
        if paper.share and paper.share.is_asked_first and not beyond_is_right:
            raise BeyondQuoteError(paper.share)
        return paper

    return _issue(decide, idempotency_key=idempotency_key, actor=actor)


def issue_credit_note(
    *,
    bill: Bill,
    lines: Collection[int],
    reason: str,
    idempotency_key: UUID,
    actor: Actor,
    date_is_right: bool = False,
) -> Bill:
    """Take back the `lines` of `bill`, each whole and once. What was billed by them can be billed again.

    Raises
    ------
    BillRefusedError
        If nothing is taken back, if something of it was before, or if `bill` is a credit note itself.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set papers.
    """
    known = Bill.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        if set(known.lines.values_list("credits_id", flat=True)) != set(lines):
            raise SentBeforeError
        return known

    def decide() -> Paper:
        paper = _credit_paper(bill=bill, lines=lines, reason=reason, at=actor.at)
        _refuse_the_past(paper.issued_on, date_is_right=date_is_right)
        return paper

    return _issue(decide, idempotency_key=idempotency_key, actor=actor)


def bill_paper(
    *,
    job: Job,
    rates: Mapping[UUID, VatRate],
    supplied_on: date,
    due_on: date,
    remarks: str,
    at: datetime,
    buyer_country: str = "",
) -> Paper:
    """What a bill would say, without a number: looked at before it is issued, and again while it is."""
    issued_on = timezone.localdate(at)
    customer = job.vehicle.customer
    open_lines = {line.pk: line for line in to_bill(job)}
    if not rates:
        raise BillRefusedError("Nothing is on the bill. Choose at least one line.")
    if set(rates) - set(open_lines):
        raise BillRefusedError("Some of this was billed or undone meanwhile. Reload the page.")
    if any(rate.retired_at for rate in rates.values()):
        raise BillRefusedError("This VAT rate is retired. Choose another.")
    if customer.forgotten_at:
        raise BillRefusedError("The customer was erased. There is nobody to bill.")
    if supplied_on > issued_on:
        raise BillRefusedError("The work is dated after today.")
    if due_on < issued_on:
        raise BillRefusedError("The bill would be due before it is issued.")
    if too_far(supplied_on, issued_on) or too_far(due_on, issued_on):
        raise BillRefusedError(TOO_FAR)
    workshop = get_workshop()
    lines = [ChosenLine.of_cost(line, rates[pk]) for pk, line in open_lines.items() if pk in rates]
    net = sum((line.amount for line in lines), NOUGHT)
    if sums_of(line.taxed for line in lines).gross > MOST_MONEY:
        raise BillRefusedError("The total is too large.")
    return Paper(
        kind=BillKind.BILL,
        job=job,
        lines=lines,
        share=share_of(job, net, workshop.beyond_quote_percent),
        buyer_name=customer.name,
        buyer_address=customer.address,
        buyer_country=buyer_country,
        remarks=remarks,
        issued_on=issued_on,
        supplied_on=supplied_on,
        due_on=due_on,
        currency=workshop.currency,
    )


def _credit_paper(*, bill: Bill, lines: Collection[int], reason: str, at: datetime) -> Paper:
    if bill.kind != BillKind.BILL:
        raise BillRefusedError("This is a credit note. Write a new bill instead.")
    if not bill.file:
        raise BillRefusedError("The bill was erased with its customer.")
    if not reason.strip():
        raise BillRefusedError("Say why.")
    open_lines = {line.pk: line for line in lines_to_credit(bill)}
    if not lines:
        raise BillRefusedError("Nothing is on the credit note. Choose at least one line.")
    if set(lines) - set(open_lines):
        raise BillRefusedError("Some of this was credited meanwhile. Reload the page.")
    return Paper(
        kind=BillKind.CREDIT_NOTE,
        job=bill.job,
        lines=[ChosenLine.of_bill(line) for pk, line in open_lines.items() if pk in lines],
        buyer_name=bill.buyer_name,
        buyer_address=bill.buyer_address,
        # a bill of an earlier release knew no country
        buyer_country=bill.made_from["buyer"].get("country", ""),
        remarks=reason,
        issued_on=timezone.localdate(at),
        supplied_on=bill.supplied_on,
        due_on=None,
        currency=bill.currency,
        credits=bill,
    )


def _refuse_the_past(issued_on: date, *, date_is_right: bool) -> None:
    latest = last_issued_on()
    if latest and issued_on < latest and not date_is_right:
        raise ClockBehindError(issued_on, latest)


def _issue(decide: Callable[[], Paper], *, idempotency_key: UUID, actor: Actor) -> Bill:
    for _ in range(TRIES):
        paper = decide()
        facts = _facts(paper, _last_serial(paper) + 1, actor)
        bill = _enter(decide, facts, set_bill(facts), idempotency_key=idempotency_key, actor=actor)
        if bill:
            return bill
    raise BillRefusedError("Others are issuing bills at this moment. Try again.")


def _keep_country(paper: Paper, actor: Actor) -> None:
    """The country that a bill was issued with is the customer's, and the next bill begins with it."""
    if paper.kind != BillKind.BILL or not paper.buyer_country:
        return
    customer = Customer.objects.select_for_update().get(pk=paper.job.vehicle.customer_id)
    values = {"country": paper.buyer_country}
    change_customer(customer=customer, row_version=customer.row_version, values=values, actor=actor)


def _enter(
    decide: Callable[[], Paper], facts: Plain, made: bytes, *, idempotency_key: UUID, actor: Actor
) -> Bill | None:
    """Write down the paper `made` from `facts`, decided once more under the locks.

    None, and nothing written, if its number went to another while it was set, or something that it says was changed.
    """
    with discarded_on_failure(), transaction.atomic():
        # Whoever bills the same job waits here, and whoever takes a number of the same row below.
        Job.objects.select_for_update().get(code=facts["job"])
        known = Bill.objects.filter(idempotency_key=idempotency_key).first()
        if known:
            return known
        paper = decide()
        row = _serial_locked(_series(paper))
        row.last += 1
        if _facts(paper, row.last, actor) != facts:
            return None
        row.save(update_fields=["last"])
        sums = paper.sums
        bill = Bill.objects.create(
            kind=paper.kind,
            number=facts["number"],
            series=row.series,
            serial=row.last,
            job=paper.job,
            credits=paper.credits,
            buyer_name=paper.buyer_name,
            buyer_address=paper.buyer_address,
            remarks=paper.remarks,
            issued_on=paper.issued_on,
            supplied_on=paper.supplied_on,
            due_on=paper.due_on,
            currency=paper.currency,
            net=sums.net,
            vat=sums.vat,
            gross=sums.gross,
            made_from=facts,
            file=ContentFile(made, name=f"{paper.kind.replace(' ', '-')}-{row.series}-{row.last}.pdf"),
            sha256=hashlib.sha256(made).hexdigest(),
            issued_at=actor.at,
            issued_by=actor.person,
            idempotency_key=idempotency_key,
        )
        BillLine.objects.bulk_create(
            BillLine(
                bill=bill,
                place=place,
                cost_line=line.cost_line,
                credits=line.credits,
                description=line.description,
                quantity=line.quantity,
                unit_price=line.unit_price,
                amount=line.amount,
                rate=line.rate,
                percent=line.taxed.percent,
            )
            for place, line in enumerate(paper.lines, 1)
        )
        BillRateSum.objects.bulk_create(
            BillRateSum(bill=bill, rate_id=one.rate, percent=one.percent, net=one.net, vat=one.vat)
            for one in sums.rates
        )
        _note_issued(bill, actor=actor)
        _keep_country(paper, actor)
    return bill


def _note_issued(bill: Bill, *, actor: Actor) -> None:
    """Of the bill's own trail alone: mechanics read the journal of a job, and nothing of money is in that."""
    if bill.credits is None:
        trail.write(Event.BILL_ISSUED, bill, f"Issued bill {bill.number}", actor=actor, figures={"sha256": bill.sha256})
        return
    sentence = f"Issued credit note {bill.number} on bill {bill.credits.number}: {bill.remarks}"
    trail.write(Event.BILL_CREDITED, bill, sentence, actor=actor, figures={"sha256": bill.sha256})
    trail.write(Event.BILL_CREDITED, bill.credits, f"Credited by {bill.number}: {bill.remarks}", actor=actor)


def _facts(paper: Paper, serial: int, actor: Actor) -> Plain:
    return bill_data(
        paper, number=_number(paper, serial), workshop=get_workshop(), at=actor.at, issued_by=str(actor.person)
    )


def _form() -> NumberForm:
    return NumberForm(get_workshop().bill_numbers)


def _series(paper: Paper) -> int:
    return _form().series(paper.issued_on)


def _last_serial(paper: Paper) -> int:
    row = BillSerial.objects.filter(series=_series(paper)).first()
    return row.last if row else 0


def _number(paper: Paper, serial: int) -> str:
    number = _form().number(paper.issued_on, serial)
    # One with this very serial was issued while this one is set, and is found under the lock.
    if Bill.objects.filter(number=number).exclude(series=_series(paper), serial=serial).exists():
        raise BillRefusedError(f"Number {number} was given out before. The owner changes the form of bill numbers.")
    return number


def _serial_locked(series: int) -> BillSerial:
    """The serial of a row of numbers, locked until the bill is stored or given up: no gap, no double."""
    BillSerial.objects.get_or_create(series=series)
    return BillSerial.objects.select_for_update().get(series=series)
