"""The demo's quotes, timer and stock: one quote that waits, one accepted with a supplement, a timer that runs."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

from django.utils import timezone

from garage.pricelist.actions import add_part
from garage.pricelist.models import PricedPart
from garage.record.actor import Actor
from garage.stock.actions import buy_in, set_low_mark, take_stock
from garage.units.models import UnitType
from jobs.costs.models import CostKind
from jobs.costs.timer_actions import start_timer
from jobs.demo.people import Crew
from jobs.job.models import Job, JobState, Stage
from jobs.quotes.actions import Typed, send_quote, set_usual_part
from jobs.quotes.answer_actions import record_answer
from jobs.quotes.models import AnsweredBy, AnswerKind, Quote, QuoteKind
from jobs.quotes.quote_data import OfferedLine
from jobs.vat.models import VatRate

PARTS = [
    ("Coil, 1.5 ohm, oil filled", "CL-15", "48.00", 3, 2),
    ("Lead set, suppressed, four cylinders", "LS-4", "36.50", 5, 2),
    ("Fuse holder with loom", "FH-1", "14.20", 1, 2),
]
PLENTY = timedelta(days=30)


def fill_the_till(crew: Crew) -> None:
    """Quotes on the cars that are in the workshop now, parts on the shelf, and Ines at work."""
    parts = _stock_the_shelf(crew)
    rate = VatRate.objects.filter(retired_at=None).first()
    cars = list(Job.objects.filter(state=JobState.OPEN).exclude(stage=Stage.AFTER_CARE).order_by("code"))
    if rate is None or len(cars) < 2:
        return
    waiting, agreed = cars[-1], cars[0]
    desk = crew.at_the_desk(crew.bea, 1, "11:20")
    _quote(waiting, [("hours", "Conversion", "16", "58.00"), ("part", str(parts[0]), "1", "48.00")], rate, desk.sign())
    first = _quote(agreed, [("hours", "Conversion", "14", "58.00"), ("part", str(parts[1]), "1", "36.50")], rate,
                   desk.sign())  # fmt: skip
    signed = desk.sign()
    record_answer(
        quote=first,
        kind=AnswerKind.ACCEPTED,
        way=AnsweredBy.PAPER,
        name=agreed.vehicle.customer.name,
        words="Signed at the counter",
        answered_on=timezone.localdate(signed.at),
        idempotency_key=uuid4(),
        actor=signed,
    )
    _quote(
        agreed,
        [("hours", "New bush for the distributor spindle", "2.5", "58.00")],
        rate,
        desk.sign(),
        reason="Spindle bush worn, see the inspection",
    )
    lately = Actor(person=crew.ines, at=crew.now - timedelta(minutes=40), device=crew.tablet)
    start_timer(job=agreed, id=uuid4(), actor=lately)


def _stock_the_shelf(crew: Crew) -> Sequence[PricedPart]:
    owner = crew.at_the_desk(crew.owner, 20, "17:30")
    found = []
    for name, number, price, many, low in PARTS:
        part = add_part(
            name=name,
            part_number=number,
            unit_price=Decimal(price),
            counted=True,
            low_mark=Decimal(low),
            idempotency_key=uuid4(),
            actor=owner.sign(),
        )
        buy_in(part=part, id=uuid4(), quantity=Decimal(many + 1), note="Spring order", actor=owner.sign())
        take_stock(part=part, id=uuid4(), counted=Decimal(many), reason="One lent to the yard", actor=owner.sign())
        found.append(part)
    set_usual_part(kind="conversion", part=found[0].pk, quantity=Decimal(1), actor=owner.sign())
    set_usual_part(kind="conversion", part=found[1].pk, quantity=Decimal(1), actor=owner.sign())
    kind = UnitType.objects.order_by("name").first()
    if kind is not None:
        set_low_mark(unit_type=kind, low_mark=1, actor=owner.sign())
    return found


def _quote(
    job: Job, lines: Sequence[tuple[str, str, str, str]], rate: VatRate, actor: Actor, reason: str = ""
) -> Quote:
    today: date = timezone.localdate(actor.at)
    return send_quote(
        job=job,
        typed=Typed(
            kind=QuoteKind.SUPPLEMENT if reason else QuoteKind.QUOTE,
            lines=[
                OfferedLine(CostKind(what), said, Decimal(many), Decimal(price), rate)
                for what, said, many, price in lines
            ],
            valid_until=today + PLENTY,
            reason=reason,
        ),
        replaces=None,
        idempotency_key=uuid4(),
        actor=actor,
    )
