"""A supplement with photographs, beside a quote that was accepted: what the customer is shown of both."""

import hashlib
import uuid
from datetime import date
from decimal import Decimal

from garage.record.actor import Actor
from jobs.booking.actions import change_booking
from jobs.checklists.photographs import Picture
from jobs.documents.pictures import photographs_taken
from jobs.job.models import Job
from jobs.quotes.actions import Typed, send_quote
from jobs.quotes.answer_actions import record_answer
from jobs.quotes.models import AnsweredBy, AnswerKind, Quote, QuoteKind
from jobs.quotes.quote_data import OfferedLine
from jobs.vat.models import VatRate
from tests.checklists.factories import photograph


def supplement_with_photographs(job: Job, rate: VatRate, today: date, actor: Actor) -> Quote:
    """Three photographs at the booking, and a supplement that shows two of them."""
    job.refresh_from_db()
    pictures = [_picture(width) for width in (640, 641, 642)]
    change_booking(job=job, row_version=job.row_version, pictures=pictures, wanted=job.wanted, actor=actor)
    quote = _sent(job, rate, today, actor, kind=QuoteKind.QUOTE)
    record_answer(
        quote=quote, kind=AnswerKind.ACCEPTED, name="Mira Holt", way=AnsweredBy.PAPER, words="", answered_on=today,
        idempotency_key=uuid.uuid4(), actor=actor,
    )  # fmt: skip
    shown = [{name: told[name] for name in ("of", "id", "sha256", "what")} for told in photographs_taken(job)[:2]]
    return _sent(
        job, rate, today, actor, kind=QuoteKind.SUPPLEMENT, reason="Spindle worn: the rotor touches", photographs=shown
    )


def _sent(job: Job, rate: VatRate, today: date, actor: Actor, **more: object) -> Quote:
    line = OfferedLine("part", "Distributor spindle and bushes, fitted", Decimal(1), Decimal(88), rate)
    typed = Typed(lines=[line], valid_until=today, **more)
    return send_quote(job=job, typed=typed, replaces=None, idempotency_key=uuid.uuid4(), actor=actor)


def _picture(width: int) -> Picture:
    jpeg = photograph(width=width)
    small, sha256 = photograph(width=120, height=90), hashlib.sha256(jpeg).hexdigest()
    return Picture(image=jpeg, thumbnail=small, width=width, height=480, sha256=sha256)
