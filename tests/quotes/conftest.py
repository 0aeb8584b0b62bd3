"""A job to quote for, and what the customer was sent."""

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from jobs.costs.models import CostKind
from jobs.documents.actions import hash_of, make_link
from jobs.documents.models import CustomerLink
from jobs.quotes.actions import Typed, send_quote
from jobs.quotes.answer_actions import answer_on_link, record_answer
from jobs.quotes.models import AnsweredBy, AnswerKind, QuoteKind
from jobs.quotes.quote_data import OfferedLine
from tests.billing.conftest import billed, credited, desk, entered, exempt, paper_at_once, standard  # noqa: F401
from tests.factories import JobFactory


@pytest.fixture
def job(workshop):
    return JobFactory(vehicle__customer__name="Mira Holt", vehicle__customer__address="4 Quarry Lane\nLockgate")


@pytest.fixture
def quote_at_once(monkeypatch):
    """The PDF stands for itself where a test looks at rules: setting one takes a second."""
    monkeypatch.setattr("jobs.quotes.actions.set_quote", lambda facts: f"%PDF of {facts['number']}".encode())


@pytest.fixture
def quoted(desk, standard, quote_at_once):  # noqa: F811
    """`quoted(job, "160.00")`: a quote of one line that comes to so much before VAT."""

    def send(job, net="160.00", *, kind=QuoteKind.QUOTE, days=30, replaces=None, at=None, key=None, **more):
        actor = desk if at is None else type(desk)(person=desk.person, at=at)
        line = OfferedLine(CostKind.PART, "Conversion", Decimal(1), Decimal(net), standard)
        typed = Typed(
            kind=kind,
            lines=more.pop("lines", [line]),
            valid_until=timezone.localdate(actor.at) + timedelta(days=days),
            reason=more.pop("reason", "Spindle worn" if kind == QuoteKind.SUPPLEMENT else ""),
        )
        return send_quote(job=job, typed=typed, replaces=replaces, idempotency_key=key or uuid.uuid4(), actor=actor)

    return send


@pytest.fixture
def link(job, desk):  # noqa: F811
    return make_link(job=job, idempotency_key=uuid.uuid4(), actor=desk)


@pytest.fixture
def on_paper(desk):  # noqa: F811
    """`on_paper(quote)`: the customer said yes on paper, and the office wrote it down."""

    def answer(quote, kind=AnswerKind.ACCEPTED, actor=desk, **more):
        values = {
            "name": "Mira Holt",
            "way": AnsweredBy.PAPER,
            "words": "",
            "answered_on": timezone.localdate(actor.at),
            "idempotency_key": uuid.uuid4(),
        }
        return record_answer(quote=quote, kind=kind, actor=actor, **values | more)

    return answer


@pytest.fixture
def on_link(link, desk):  # noqa: F811
    """`on_link(quote)`: the customer accepts on the link."""

    def answer(quote, kind=AnswerKind.ACCEPTED, actor=desk, **more):
        found = CustomerLink.objects.get(token_sha256=hash_of(link))
        values = {"name": "Mira Holt", "words": "", "idempotency_key": uuid.uuid4()}
        return answer_on_link(link=found, quote=quote, kind=kind, actor=actor, **values | more)

    return answer
