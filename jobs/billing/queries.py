"""What is still to be billed on a job, where a bill stands, and which bills wait for money."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import DecimalField, F, OuterRef, Q, QuerySet, Subquery, Sum, Value
from django.db.models.expressions import Combinable
from django.db.models.functions import Coalesce
from django.utils import timezone

from garage.files.issued import read_issued
from jobs.billing.models import Bill, BillKind, BillLine, Payment
from jobs.costs.models import CostLine
from jobs.costs.queries import costs
from jobs.job.models import Job
from jobs.vat.sums import NOUGHT

# Sums in SQLite are floating point: half a penny is nothing.
HALF_A_PENNY = Decimal("0.005")
MONEY = DecimalField(max_digits=12, decimal_places=2)


def to_bill(job: Job) -> list[CostLine]:
    """The hours and parts of `job` that stand, and are on no bill or were credited from it.

    Hours that were corrected after their bill wait until that is credited: before, they would be charged twice.
    """
    billed = set(BillLine.objects.filter(bill__job=job, bill__kind=BillKind.BILL, credited=None).values_list(
        "cost_line_id", flat=True
    ))  # fmt: skip
    corrects = dict(job.cost_lines.values_list("pk", "supersedes_id"))
    return [line for line in costs(job).lines if billed.isdisjoint(_with_what_it_corrects(line.pk, corrects))]


def _with_what_it_corrects(line: UUID, corrects: Mapping[UUID, UUID | None]) -> Iterator[UUID]:
    at: UUID | None = line
    while at is not None:
        yield at
        at = corrects[at]


def undone_since(job: Job) -> list[BillLine]:
    """Lines on a bill of `job` whose hours or part were undone or corrected since: they want a credit note."""
    standing = {line.pk for line in costs(job).lines}
    billed = BillLine.objects.filter(bill__job=job, bill__kind=BillKind.BILL, credited=None).select_related("bill")
    return [line for line in billed if line.cost_line_id not in standing]


def lines_to_credit(bill: Bill) -> QuerySet[BillLine]:
    """The lines of `bill` that no credit note has taken back."""
    return bill.lines.filter(credited=None).select_related("rate")


MARKS = {"overdue": "stop", "to refund": "caution", "part paid": "hold", "unpaid": "open"}


@dataclass(frozen=True, slots=True)
class Account:
    """Where a bill stands: what it asked for, and what came of it."""

    bill: Bill
    credited: Decimal
    received: Decimal
    refunded: Decimal

    @property
    def due(self) -> Decimal:
        """What is still to be paid; below nought, what is to be given back."""
        return self.bill.gross - self.credited - self.received + self.refunded

    @property
    def to_refund(self) -> Decimal:
        return max(-self.due, NOUGHT)

    @property
    def is_overdue(self) -> bool:
        return self.due > 0 and self.bill.due_on is not None and self.bill.due_on < timezone.localdate()

    @property
    def state(self) -> str:
        """Where it stands, in one or two words."""
        if self.due < 0:
            return "to refund"
        if self.due == 0:
            return "credited" if self.credited and not self.received else "paid"
        if self.is_overdue:
            return "overdue"
        return "part paid" if self.received > self.refunded else "unpaid"

    @property
    def mark(self) -> str:
        """The sign that stands beside the state."""
        return MARKS.get(self.state, "good")


def payments(bill: Bill) -> list[Payment]:
    """The payments on `bill` that were not taken back."""
    return list(bill.payments.filter(successors=None, withdrawn=False).select_related("by"))


def account_of(bill: Bill) -> Account:
    return accounts_of([bill])[0]


def accounts_of(bills: list[Bill]) -> list[Account]:
    """Where each of `bills` stands, asked for together."""
    keys = [bill.pk for bill in bills]
    credited = _sums(Bill.objects.filter(credits__in=keys), "credits_id", "gross")
    paid = Payment.objects.filter(bill__in=keys, successors=None, withdrawn=False)
    received = _sums(paid.filter(refund=False), "bill_id", "amount")
    refunded = _sums(paid.filter(refund=True), "bill_id", "amount")
    return [Account(bill, *(found.get(bill.pk, NOUGHT) for found in (credited, received, refunded))) for bill in bills]


def _sums(rows: QuerySet[Any], key: str, amount: str) -> dict[int, Decimal]:
    """The exact sums of `amount` by `key`: added here, for SQLite adds decimals as floating point."""
    found: dict[int, Decimal] = {}
    for owner, value in rows.values_list(key, amount):
        found[owner] = found.get(owner, NOUGHT) + value
    return found


def bills(state: str = "") -> QuerySet[Bill]:
    """Every bill and credit note, newest first; of `state` "open" those that wait for money, of "overdue" the late."""
    found = Bill.objects.select_related("job__vehicle", "credits")
    if not state:
        return found
    waiting = found.filter(kind=BillKind.BILL).alias(due=_due())
    waiting = waiting.filter(Q(due__gt=HALF_A_PENNY) | Q(due__lt=-HALF_A_PENNY)).order_by("due_on", "pk")
    if state == "overdue":
        return waiting.filter(due__gt=HALF_A_PENNY, due_on__lt=timezone.localdate())
    return waiting


def _due() -> Combinable:
    """What is still to be paid on a bill, as the database reckons it."""
    standing = Payment.objects.filter(bill=OuterRef("pk"), successors=None, withdrawn=False).order_by()
    received = standing.filter(refund=False).values("bill").annotate(sum=Sum("amount")).values("sum")
    refunded = standing.filter(refund=True).values("bill").annotate(sum=Sum("amount")).values("sum")
    credited = Bill.objects.filter(credits=OuterRef("pk")).order_by().values("credits").annotate(sum=Sum("gross"))

    def or_nought(rows: QuerySet[Any]) -> Coalesce:
        return Coalesce(Subquery(rows, output_field=MONEY), Value(NOUGHT), output_field=MONEY)

    return F("gross") - or_nought(credited.values("sum")) - or_nought(received) + or_nought(refunded)


def bills_for_customer(job: Job) -> QuerySet[Bill]:
    """The bills and credit notes of `job` that a customer may read on the link of this very job, newest first."""
    return job.bills.exclude(file="")


def issued_between(first: date, last: date) -> QuerySet[Bill]:
    """Bills and credit notes of these days, both among them, in the order of their numbers."""
    found = Bill.objects.filter(issued_on__range=(first, last)).select_related("job", "credits")
    return found.prefetch_related("rate_sums__rate").order_by("series", "serial")


def last_issued_on() -> date | None:
    """The day of the latest bill: a clock that stands before it went back, or was ahead."""
    return Bill.objects.order_by("-issued_on").values_list("issued_on", flat=True).first()


def last_quarter(day: date) -> tuple[date, date]:
    """The first and last day of the quarter before that of `day`: what an accountant asks for next."""
    begins = date(day.year, 3 * ((day.month - 1) // 3) + 1, 1)
    last = begins - timedelta(days=1)
    return date(last.year, last.month - 2, 1), last


def stored_bill(bill: Bill) -> bytes:
    """The PDF as it went out. Raises what `read_issued` does."""
    return read_issued(bill.file, bill.sha256, str(bill).capitalize())
