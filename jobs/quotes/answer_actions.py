"""The customer's yes or no: on the link by themselves, or told to the office."""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django.utils.text import capfirst

from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from jobs.documents.models import CustomerLink
from jobs.job import journal
from jobs.job.models import Job
from jobs.quotes.actions import QuoteRefusedError
from jobs.quotes.models import AnsweredBy, AnswerKind, Quote, QuoteAnswer, QuoteKind
from jobs.quotes.queries import accepted_quote, standing_of


def answer_on_link(
    *, link: CustomerLink, quote: Quote, kind: AnswerKind, name: str, words: str, idempotency_key: UUID, actor: Actor
) -> QuoteAnswer:
    """The answer that the customer gives on `link`. The trail knows staff alone: `actor` is whoever made the link.

    Raises
    ------
    QuoteRefusedError
        If this version is no longer the one to answer.
    """
    values = {"kind": kind, "way": AnsweredBy.LINK, "name": name, "words": words}

    def enter() -> QuoteAnswer:
        return QuoteAnswer.objects.create(
            quote=quote,
            link=link,
            answered_on=timezone.localdate(actor.at),
            received_at=actor.at,
            idempotency_key=idempotency_key,
            **values,
        )

    return _answer_once(quote, timezone.localdate(actor.at), enter, values, idempotency_key, actor)


def record_answer(
    *,
    quote: Quote,
    kind: AnswerKind,
    way: AnsweredBy,
    name: str,
    words: str,
    answered_on: date,
    idempotency_key: UUID,
    actor: Actor,
) -> QuoteAnswer:
    """The answer that the customer gave to the workshop: who, when and how.

    Raises
    ------
    QuoteRefusedError
        If this version is no longer the one to answer, or was not out on that day.
    """
    if way == AnsweredBy.LINK:
        raise QuoteRefusedError("On the link the customer answers alone.")
    if answered_on > timezone.localdate(actor.at):
        raise QuoteRefusedError("The answer is dated after today.")
    if answered_on < quote.issued_on:
        raise QuoteRefusedError("The answer is dated before the quote.")
    values = {"kind": kind, "way": way, "name": name, "words": words, "answered_on": answered_on}

    def enter() -> QuoteAnswer:
        return QuoteAnswer.objects.create(
            quote=quote,
            recorded_by=actor.person,
            device=actor.device,
            received_at=actor.at,
            idempotency_key=idempotency_key,
            **values,
        )

    return _answer_once(quote, answered_on, enter, values, idempotency_key, actor)


def _answer_once(
    quote: Quote,
    day: date,
    enter: Callable[[], QuoteAnswer],
    values: dict[str, Any],
    idempotency_key: UUID,
    actor: Actor,
) -> QuoteAnswer:
    with transaction.atomic():
        # Whoever answers at the same moment, or sends a new version, waits here.
        quote.job = Job.objects.select_for_update().get(pk=quote.job_id)
        if known := QuoteAnswer.objects.filter(idempotency_key=idempotency_key).first():
            refuse_unless_same(known, {"quote": quote, **values})
            return known
        _refuse_what_is_over(quote, day)
        if values["kind"] == AnswerKind.ACCEPTED and quote.kind == QuoteKind.QUOTE and accepted_quote(quote.job):
            raise QuoteRefusedError("Another quote of this job is accepted.")
        answer = enter()
        # Who said so, and in which words, stands with the answer alone: it may be erased, and may speak of money.
        sentence = f"{capfirst(str(quote))} {answer.get_kind_display()} {answer.get_way_display()}"
        trail.write(Event.QUOTE_ANSWERED, quote, sentence, actor=actor)
        journal.write(quote.job, Event.QUOTE_ANSWERED, sentence, actor=actor, quote=quote.pk)
        return answer


def _refuse_what_is_over(quote: Quote, day: date) -> None:
    """Only the version that is shown is answered, once, and while it is valid."""
    standing = standing_of(quote, day)
    if standing.answer:
        raise QuoteRefusedError(f"{quote.name} was {standing.answer.get_kind_display()} before.")
    if standing.is_replaced:
        raise QuoteRefusedError("There is a newer version of this quote. Read that one first.")
    if standing.is_withdrawn:
        raise QuoteRefusedError("This quote was withdrawn. Ring the workshop.")
    if standing.is_expired:
        raise QuoteRefusedError(f"This quote was valid until {quote.valid_until:%-d %B %Y}. A new one is needed.")
