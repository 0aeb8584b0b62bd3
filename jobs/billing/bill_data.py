"""All that a bill or credit note says, as plain data: it is set from this, and this is kept with it."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from garage.people.models import Workshop
from garage.record.plain import Plain, as_plain
from jobs.billing.against_quote import QuoteShare
from jobs.billing.einvoice import what_is_missing
from jobs.billing.models import Bill, BillKind, BillLine
from jobs.costs.models import CostLine
from jobs.job.models import Job
from jobs.vat.models import VatRate
from jobs.vat.sums import RateSum, Sums, TaxedAmount, sums_of, with_the_rest


@dataclass(frozen=True, slots=True)
class ChosenLine:
    """A line that is to go on a paper, at a rate; of a credit note, with the line that it takes back."""

    cost_line: CostLine
    rate: VatRate
    amount: Decimal
    description: str
    quantity: Decimal
    unit_price: Decimal
    credits: BillLine | None = None

    @classmethod
    def of_cost(cls, line: CostLine, rate: VatRate) -> "ChosenLine":
        return cls(line, rate, line.amount, line.description, line.quantity, line.unit_price)

    @classmethod
    def of_bill(cls, line: BillLine) -> "ChosenLine":
        return cls(
            line.cost_line, line.rate, line.amount, line.description, line.quantity, line.unit_price, credits=line
        )

    @property
    def taxed(self) -> TaxedAmount:
        percent = self.credits.percent if self.credits else self.rate.percent
        return TaxedAmount(self.amount, self.rate.pk, percent)


@dataclass(frozen=True, slots=True)
class Paper:
    """What is decided about a bill or credit note, but for its number."""

    kind: BillKind
    job: Job
    lines: list[ChosenLine]
    buyer_name: str
    buyer_address: str
    remarks: str
    issued_on: date
    supplied_on: date
    due_on: date | None
    currency: str
    credits: Bill | None = None
    share: QuoteShare | None = None
    buyer_country: str = ""  # ISO 3166-1 alpha-2, for an electronic invoice

    @property
    def sums(self) -> Sums:
        """The foot: of a credit note such that all notes on a bill together take back the whole of it."""
        alone = sums_of(line.taxed for line in self.lines)
        if self.credits is None:
            return alone
        before = [sums_as_issued(note) for note in self.credits.credit_notes.prefetch_related("rate_sums")]
        return with_the_rest(alone, bill=sums_as_issued(self.credits), before=before)


def sums_as_issued(bill: Bill) -> Sums:
    """The foot of a bill or credit note as it went out."""
    return Sums(tuple(RateSum(one.rate_id, one.percent, one.net, one.vat) for one in bill.rate_sums.all()))


def bill_data(paper: Paper, *, number: str, workshop: Workshop, at: datetime, issued_by: str) -> Plain:
    """Everything on the paper as JSON values. Money is text: no figure of it ever was a float."""
    rates = {line.rate.pk: line.rate for line in paper.lines}
    sums = paper.sums
    facts = {
        "kind": paper.kind,
        "number": number,
        "made_at": at,
        "issued_by": issued_by,
        "issued_on": paper.issued_on,
        "supplied_on": paper.supplied_on,
        "due_on": paper.due_on,
        "currency": paper.currency,
        "workshop": {
            "name": workshop.name,
            "address": workshop.address,
            "phone": workshop.phone,
            "email": workshop.email,
            "vat_number": workshop.vat_number,
            "country": workshop.country,
            "foot": workshop.bill_foot,
        },
        "buyer": {"name": paper.buyer_name, "address": paper.buyer_address, "country": paper.buyer_country},
        "job": paper.job.code,
        "car": {"registration": paper.job.vehicle.registration, "name": paper.job.vehicle.name_and_year},
        "credits": {"number": paper.credits.number, "issued_on": paper.credits.issued_on} if paper.credits else None,
        "remarks": paper.remarks,
        "agreed": _agreed(paper.share) if paper.share else None,
        "lines": [
            {
                "kind": line.cost_line.kind,
                "description": line.description,
                "quantity": line.quantity,
                "unit_price": line.unit_price,
                "percent": line.taxed.percent,
                "category": line.rate.category,
                "amount": line.amount,
            }
            for line in paper.lines
        ],
        "rates": [
            {
                "rate": rates[one.rate].pk,
                "name": rates[one.rate].name,
                "percent": one.percent,
                "wording": rates[one.rate].wording,
                "category": rates[one.rate].category,
                "net": one.net,
                "vat": one.vat,
            }
            for one in sums.rates
        ],
        "net": sums.net,
        "vat": sums.vat,
        "gross": sums.gross,
    }
    plain = as_plain(facts)
    return {**plain, "missing_for_einvoice": what_is_missing(plain)}


def _agreed(share: QuoteShare) -> Plain:
    return {
        "quote": share.agreed.quote.name,
        "of_quote": share.of_quote,
        "supplements": [one.name for one in share.agreed.supplements],
        "of_supplements": share.of_supplements,
        "beyond": share.beyond,
    }
