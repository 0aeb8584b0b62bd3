"""Writing hours and parts down."""

from decimal import Decimal
from uuid import UUID

from django.db import transaction

from garage.pricelist.models import PricedPart
from garage.quantities.words import plain
from garage.record.actor import Actor
from garage.record.append import append, withdraw
from garage.record.events import Event
from garage.stock.actions import put_back, take_from_stock
from jobs.costs.models import CostKind, CostLine
from jobs.job import journal
from jobs.job.models import Job


@transaction.atomic
def enter_cost(
    *,
    job: Job,
    id: UUID,
    kind: str,
    description: str,
    quantity: Decimal,
    unit_price: Decimal,
    actor: Actor,
    stage: str = "",
    part: PricedPart | None = None,
) -> CostLine:
    """Write hours or a part down; `stage` is that of the work, where the car has gone on since.

    A counted `part` of the price list leaves the stock with it.
    """
    line, is_new = append(
        CostLine,
        id=id,
        actor=actor,
        job=job,
        kind=kind,
        description=description,
        quantity=quantity,
        unit_price=unit_price,
    )
    if is_new:
        # Everybody reads the journal: what was done and used stands there, what it costs stands with the costs.
        much = f"{plain(float(quantity))} h, " if kind == CostKind.HOURS else f"{plain(float(quantity))} × "
        sentence = f"Added {line.get_kind_display()}: {much}{description}"
        journal.write(job, Event.COST_ENTERED, sentence, actor=actor, stage=stage, line=str(line.pk))
        if part is not None and part.counted:
            take_from_stock(part=part, line=line.pk, quantity=quantity, job_code=job.code, actor=actor)
    return line


@transaction.atomic
def withdraw_cost(*, line: CostLine, actor: Actor) -> None:
    """Take a line back. It stays in the book, and counts no more."""
    if withdraw(line, actor=actor):
        journal.write(line.job, Event.COST_WITHDRAWN, f"Undone: {line.description}", actor=actor, line=str(line.pk))
        put_back(line=line.pk, actor=actor)
