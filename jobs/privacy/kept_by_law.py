"""What the law makes a workshop keep although a customer is forgotten: one rule a room, each adds its own here.

How long is a setting of the workshop (`keep_bills_years`): common practice, no source. The law of the place decides.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import models
from django.utils.text import capfirst

from garage.customers.models import Customer
from jobs.billing.models import Bill, BillLine, Payment
from jobs.costs.models import CostLine
from jobs.quotes.models import AnswerKind, Quote, QuoteAnswer, QuoteLine


@dataclass(frozen=True, slots=True)
class Kept:
    """A row that is kept as it is until a day, and which of its columns go then."""

    what: str
    model: type[models.Model]
    pk: Any
    columns: tuple[str, ...]
    until: date


OF_A_BILL = ("buyer_name", "buyer_address", "remarks", "made_from", "file")

OF_A_QUOTE = ("reason", "buyer_name", "buyer_address", "remarks", "made_from", "file")

Rule = Callable[[Customer, int], list[Kept]]


def hours_and_parts(customer: Customer, years: int) -> list[Kept]:
    """What a bill is made of: to the end of the year so many years after it was written down."""
    lines = CostLine.objects.filter(job__vehicle__customer=customer).select_related("job")
    return [
        Kept(f"Hours and parts of job {line.job.code}", CostLine, line.pk, ("description",),
             date(line.made_at.year + years, 12, 31))
        for line in lines
    ]  # fmt: skip


def bills(customer: Customer, years: int) -> list[Kept]:
    """Bills with their papers and payments: to the end of the year so many years after they were issued."""
    found = Bill.objects.filter(job__vehicle__customer=customer).prefetch_related("lines", "payments").order_by("pk")
    kept = []
    for bill in found:
        name, until = str(bill).capitalize(), date(bill.issued_on.year + years, 12, 31)
        kept.append(Kept(name, Bill, bill.pk, OF_A_BILL, until))
        kept += [Kept(f"{name}, a line", BillLine, line.pk, ("description",), until) for line in bill.lines.all()]
        kept += [Kept(f"{name}, a payment", Payment, one.pk, ("note",), until) for one in bill.payments.all()]
    return kept


def quotes(customer: Customer, years: int) -> list[Kept]:
    """Quotes that were accepted, with the answer: to the end of the year so many years after it was given."""
    found = Quote.objects.filter(job__vehicle__customer=customer, answer__kind=AnswerKind.ACCEPTED)
    kept = []
    for quote in found.select_related("answer").prefetch_related("lines").order_by("pk"):
        name, until = capfirst(str(quote)), date(quote.answer.answered_on.year + years, 12, 31)
        kept.append(Kept(name, Quote, quote.pk, OF_A_QUOTE, until))
        kept.append(Kept(f"{name}, the answer", QuoteAnswer, quote.answer.pk, ("name", "words"), until))
        kept += [Kept(f"{name}, a line", QuoteLine, line.pk, ("description",), until) for line in quote.lines.all()]
    return kept


RULES: list[Rule] = [hours_and_parts, quotes, bills]


def kept_of(customer: Customer, years: int) -> list[Kept]:
    """Everything of `customer` that stays until its day."""
    return [kept for rule in RULES for kept in rule(customer, years)]
