"""Sending a quote, a new version of it, or a supplement to one that was accepted."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from garage.files.storage import discarded_on_failure
from garage.people.queries import get_workshop
from garage.quantities.days import TOO_FAR, too_far
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import SentBeforeError
from garage.record.plain import Plain
from garage.record.refusals import RuleRefusedError
from jobs.job import journal
from jobs.job.models import Job
from jobs.quotes.models import Quote, QuoteKind, QuoteLine, QuoteSerial, UsualPart
from jobs.quotes.queries import accepted_quote, standing_of, waiting_for_yes
from jobs.quotes.quote_data import OfferedLine, QuotePaper, quote_data
from jobs.quotes.setting import set_quote
from jobs.vat.sums import MOST_MONEY


class QuoteRefusedError(RuleRefusedError):
    """A quote cannot be sent or answered now. Says why."""


@dataclass(frozen=True, slots=True)
class Typed:
    """A quote as somebody typed it. Only a supplement has a `reason`."""

    kind: QuoteKind
    lines: Sequence[OfferedLine]
    valid_until: date
    reason: str = ""
    remarks: str = ""
    photographs: Sequence[Plain] = ()


def send_quote(*, job: Job, typed: Typed, replaces: Quote | None, idempotency_key: UUID, actor: Actor) -> Quote:
    """Set the paper and show it on the customer's link; `replaces` is the version that it takes the place of.

    The paper is set before the transaction, under the number that it takes first: a quote that is refused after that
    leaves a gap among the numbers, which no law minds.

    Raises
    ------
    QuoteRefusedError
        If there is nothing on it, or if the job has a quote that stands in its way.
    SentBeforeError
        If the same form came before with other lines.
    timing.sheets.pdf.DocumentLibraryMissing
        If this machine cannot set papers.
    """
    if known := Quote.objects.filter(idempotency_key=idempotency_key).first():
        return _the_same(known, typed)
    paper = quote_paper(job=job, typed=typed, replaces=replaces, at=actor.at)
    number = replaces.number if replaces else _next_number(paper.issued_on.year)
    version = replaces.version + 1 if replaces else 1
    facts = quote_data(
        paper,
        number=number,
        version=version,
        supplements=accepted_quote(job) if paper.kind == QuoteKind.SUPPLEMENT else None,
        workshop=get_workshop(),
        at=actor.at,
        issued_by=str(actor.person),
    )
    made = set_quote(facts)
    with discarded_on_failure(), transaction.atomic():
        # Whoever sends another quote of the job, or answers one, waits here.
        Job.objects.select_for_update().get(pk=job.pk)
        if known := Quote.objects.filter(idempotency_key=idempotency_key).first():
            return _the_same(known, typed)
        paper = quote_paper(job=job, typed=typed, replaces=replaces, at=actor.at)
        return _write_down(paper, facts, made, replaces=replaces, idempotency_key=idempotency_key, actor=actor)


def _the_same(known: Quote, typed: Typed) -> Quote:
    kept = [(line.description, line.amount) for line in known.lines.all()]
    is_typed = kept == [(line.description, line.amount) for line in typed.lines]
    if not is_typed or known.photographs != list(typed.photographs):
        raise SentBeforeError
    return known


def quote_paper(*, job: Job, typed: Typed, replaces: Quote | None, at: datetime) -> QuotePaper:
    """What a quote would say, without a number: looked at before it is sent, and again while it is."""
    today = timezone.localdate(at)
    if not typed.lines:
        raise QuoteRefusedError("Nothing is on the quote. Enter at least one line.")
    if any(line.rate.retired_at for line in typed.lines):
        raise QuoteRefusedError("This VAT rate is retired. Choose another.")
    if job.vehicle.customer.forgotten_at:
        raise QuoteRefusedError("The customer was erased. There is nobody to ask.")
    if typed.valid_until < today:
        raise QuoteRefusedError("The quote would be out of date before it is sent.")
    if too_far(typed.valid_until, today):
        raise QuoteRefusedError(TOO_FAR)
    _refuse_out_of_turn(job, typed, replaces)
    paper = QuotePaper(
        kind=typed.kind,
        job=job,
        lines=typed.lines,
        reason=typed.reason,
        remarks=typed.remarks,
        issued_on=today,
        valid_until=typed.valid_until,
        currency=get_workshop().currency,
        photographs=typed.photographs,
    )
    if paper.sums.gross > MOST_MONEY:
        raise QuoteRefusedError("The total is too large.")
    return paper


def _refuse_out_of_turn(job: Job, typed: Typed, replaces: Quote | None) -> None:
    agreed_to = accepted_quote(job)
    if typed.kind == QuoteKind.SUPPLEMENT:
        if agreed_to is None:
            raise QuoteRefusedError("No quote of this job is accepted. Send a new version of the quote instead.")
        if not typed.reason.strip():
            raise QuoteRefusedError("Say what was found.")
    elif agreed_to is not None:
        raise QuoteRefusedError(f"{agreed_to.name} is accepted and does not change. Write a supplement.")
    elif replaces is None and any(one.quote.kind == QuoteKind.QUOTE for one in waiting_for_yes(job)):
        raise QuoteRefusedError("A quote of this job waits for an answer. Send a new version of it.")
    if replaces is None:
        return
    standing = standing_of(replaces)
    if standing.state == "accepted":
        raise QuoteRefusedError(f"{replaces.name} is accepted and does not change. Write a supplement.")
    if standing.is_replaced:
        raise QuoteRefusedError("There is a newer version already. Reload the page.")


def _write_down(
    paper: QuotePaper, facts: Plain, made: bytes, *, replaces: Quote | None, idempotency_key: UUID, actor: Actor
) -> Quote:
    sums = paper.sums
    quote = Quote.objects.create(
        kind=paper.kind,
        year=replaces.year if replaces else paper.issued_on.year,
        serial=replaces.serial if replaces else int(facts["number"].rsplit("-", 1)[1]),
        number=facts["number"],
        version=facts["version"],
        replaces=replaces,
        job=paper.job,
        reason=paper.reason,
        buyer_name=facts["buyer"]["name"],
        buyer_address=facts["buyer"]["address"],
        remarks=paper.remarks,
        issued_on=paper.issued_on,
        valid_until=paper.valid_until,
        currency=paper.currency,
        net=sums.net,
        vat=sums.vat,
        gross=sums.gross,
        made_from=facts,
        file=ContentFile(made, name=f"{paper.kind}-{facts['number']}-{facts['version']}.pdf"),
        sha256=hashlib.sha256(made).hexdigest(),
        issued_at=actor.at,
        issued_by=actor.person,
        idempotency_key=idempotency_key,
    )
    QuoteLine.objects.bulk_create(
        QuoteLine(
            quote=quote,
            place=place,
            kind=line.kind,
            description=line.description,
            quantity=line.quantity,
            unit_price=line.unit_price,
            amount=line.amount,
            rate=line.rate,
            percent=line.rate.percent,
        )
        for place, line in enumerate(paper.lines, 1)
    )
    sentence = f"Sent {quote}" + (f": {paper.reason}" if paper.reason else "")
    trail.write(Event.QUOTE_SENT, quote, sentence, actor=actor, figures={"sha256": quote.sha256})
    # The journal is read by everybody: it says that the customer was asked, and nothing of money.
    journal.write(paper.job, Event.QUOTE_SENT, sentence, actor=actor, quote=quote.pk)
    return quote


@transaction.atomic
def _next_number(year: int) -> str:
    row, _ = QuoteSerial.objects.get_or_create(year=year)
    row = QuoteSerial.objects.select_for_update().get(pk=row.pk)
    row.last += 1
    row.save(update_fields=["last"])
    return f"Q-{year}-{row.last:04d}"


@transaction.atomic
def set_usual_part(*, kind: str, part: int, quantity: Decimal, actor: Actor) -> None:
    """How many of a part a job of `kind` usually takes; of none, it is on the quote no more."""
    before = UsualPart.objects.filter(kind=kind, part_id=part).first()
    if (before and before.quantity == quantity) or (before is None and not quantity):
        return
    if not quantity and before:
        trail.write(Event.USUAL_PARTS_SET, before.part, f"No usual part any longer: {before}", actor=actor)
        before.delete()
        return
    row, _ = UsualPart.objects.update_or_create(kind=kind, part_id=part, defaults={"quantity": quantity})
    trail.write(Event.USUAL_PARTS_SET, row.part, f"Usual part: {row}", actor=actor)
