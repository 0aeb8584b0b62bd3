"""Bills and payments as lists for the accountant: CSV that a spreadsheet opens, and takes no name for a formula."""

import csv
import io
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from garage.quantities.spreadsheet import as_text_cells
from jobs.billing.models import BillKind, Payment
from jobs.billing.queries import issued_between

BILL_COLUMNS = (
    "number", "kind", "credits", "issued on", "supplied on", "due on", "job", "customer", "currency",
    "VAT rate", "VAT %", "net", "VAT", "gross",
)  # fmt: skip
PAYMENT_COLUMNS = ("bill", "paid on", "paid by", "amount", "currency", "customer", "note")


def bills_as_csv(first: date, last: date) -> str:
    """Every bill and credit note issued in these days, a line for each of its rates; credit notes below nought."""
    rows = []
    for bill in issued_between(first, last):
        # Adding 0 makes an exempt credit note's -0.00 a 0.00.
        sign = -1 if bill.kind == BillKind.CREDIT_NOTE else 1
        for part in bill.rate_sums.all():
            sums = (sign * figure + 0 for figure in (part.net, part.vat, part.net + part.vat))
            rows.append(
                [
                    bill.number, bill.kind, bill.credits.number if bill.credits else "", bill.issued_on,
                    bill.supplied_on, bill.due_on or "", bill.job.code, bill.buyer_name, bill.currency,
                    part.rate.name, part.percent, *sums,
                ]
            )  # fmt: skip
    return _csv(BILL_COLUMNS, rows)


def payments_as_csv(first: date, last: date) -> str:
    """Every payment of these days that was not taken back; refunds below nought."""
    found = Payment.objects.filter(paid_on__range=(first, last), successors=None, withdrawn=False)
    rows = [
        [
            one.bill.number, one.paid_on, one.get_paid_by_display(), -one.amount if one.refund else one.amount,
            one.bill.currency, one.bill.buyer_name, one.note,
        ]
        for one in found.select_related("bill").order_by("paid_on", "made_at")
    ]  # fmt: skip
    return _csv(PAYMENT_COLUMNS, rows)


def _csv(columns: Iterable[str], rows: Iterable[list[Any]]) -> str:
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return page.getvalue()


def _cell(value: Any) -> Any:
    """Figures and days as they are, a minus before them included; text so that it is shown and not reckoned."""
    return value if isinstance(value, Decimal | date) else as_text_cells(str(value))
