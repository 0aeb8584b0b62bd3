"""All that a quote or supplement says, as plain data: it is set from this, and this is kept with it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from garage.people.models import Workshop
from garage.record.plain import Plain, as_plain
from jobs.job.models import Job
from jobs.quotes.models import Quote, QuoteKind
from jobs.vat.models import VatRate
from jobs.vat.sums import Sums, TaxedAmount, line_amount, sums_of


@dataclass(frozen=True, slots=True)
class OfferedLine:
    """A line as it was typed: hours or a part, at a price and a rate."""

    kind: str
    description: str
    quantity: Decimal
    unit_price: Decimal
    rate: VatRate

    @property
    def amount(self) -> Decimal:
        return line_amount(self.quantity, self.unit_price)


@dataclass(frozen=True, slots=True)
class QuotePaper:
    """What is decided about a quote, but for its number and version."""

    kind: QuoteKind
    job: Job
    lines: Sequence[OfferedLine]
    reason: str
    remarks: str
    issued_on: date
    valid_until: date
    currency: str
    photographs: Sequence[Plain] = ()

    @property
    def sums(self) -> Sums:
        return sums_of(TaxedAmount(line.amount, line.rate.pk, line.rate.percent) for line in self.lines)


def quote_data(
    paper: QuotePaper,
    *,
    number: str,
    version: int,
    supplements: Quote | None,
    workshop: Workshop,
    at: datetime,
    issued_by: str,
) -> Plain:
    """Everything on the paper as JSON values. `supplements` is the accepted quote that a supplement adds to."""
    rates = {line.rate.pk: line.rate for line in paper.lines}
    sums, customer, car = paper.sums, paper.job.vehicle.customer, paper.job.vehicle
    facts = {
        "kind": paper.kind,
        "number": number,
        "version": version,
        "supplements": supplements.name if supplements else "",
        "reason": paper.reason,
        "made_at": at,
        "issued_by": issued_by,
        "issued_on": paper.issued_on,
        "valid_until": paper.valid_until,
        "currency": paper.currency,
        "workshop": {
            "name": workshop.name,
            "address": workshop.address,
            "phone": workshop.phone,
            "email": workshop.email,
            "vat_number": workshop.vat_number,
        },
        "buyer": {"name": customer.name, "address": customer.address},
        "job": paper.job.code,
        "car": {"registration": car.registration, "name": car.name_and_year},
        "remarks": paper.remarks,
        "photographs": list(paper.photographs),
        "lines": [
            {
                "kind": line.kind,
                "description": line.description,
                "quantity": line.quantity,
                "unit_price": line.unit_price,
                "percent": line.rate.percent,
                "amount": line.amount,
            }
            for line in paper.lines
        ],
        "rates": [
            {
                "name": rates[one.rate].name,
                "percent": one.percent,
                "wording": rates[one.rate].wording,
                "net": one.net,
                "vat": one.vat,
            }
            for one in sums.rates
        ],
        "net": sums.net,
        "vat": sums.vat,
        "gross": sums.gross,
        "may_exceed_percent": workshop.beyond_quote_percent,
    }
    return as_plain(facts)
