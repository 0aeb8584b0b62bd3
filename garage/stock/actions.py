"""Parts in and out of stock, and counting them."""

from decimal import Decimal
from uuid import UUID

from django.db import transaction

from garage.pricelist.models import PricedPart
from garage.record import trail
from garage.record.actor import Actor
from garage.record.append import append, withdraw
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.refusals import RuleRefusedError
from garage.stock.models import MoveKind, StockMove, use_id
from garage.stock.queries import in_stock
from garage.units.models import UnitType

MOST_OF_A_PART = Decimal("999999.99")  # what a column of the book holds


class StockRefusedError(RuleRefusedError):
    """The stock cannot be changed like this. Says why."""


@transaction.atomic
def buy_in(*, part: PricedPart, id: UUID, quantity: Decimal, note: str, actor: Actor) -> StockMove:
    """So many of `part` came in.

    Raises
    ------
    StockRefusedError
        If that is none, or more than the book holds.
    """
    if quantity <= 0:
        raise StockRefusedError("Enter how many came in.")
    if in_stock(part).quantity + quantity > MOST_OF_A_PART and not StockMove.objects.filter(pk=id).exists():
        raise StockRefusedError(f"At most {MOST_OF_A_PART:,f} of a part.")
    move, is_new = append(StockMove, id=id, actor=actor, part=part, kind=MoveKind.IN, quantity=quantity, note=note)
    if is_new:
        _note_stock(part, f"Bought in {quantity.normalize():f}", note, actor)
    return move


@transaction.atomic
def take_stock(*, part: PricedPart, id: UUID, counted: Decimal, reason: str, actor: Actor) -> StockMove | None:
    """A stocktake: `counted` of `part` are there. A difference to the book has a reason; None where there is none.

    Raises
    ------
    StockRefusedError
        If less than none were counted, or a difference has no reason or is more than the book holds.
    """
    if counted < 0:
        raise StockRefusedError("There cannot be fewer than none. Enter what you counted.")
    # Whoever takes or counts the same part waits here: the difference is to what the book has then.
    PricedPart.objects.select_for_update().get(pk=part.pk)
    if known := StockMove.objects.filter(pk=id).first():
        refuse_unless_same(known, {"part": part, "note": reason})
        return known
    there = in_stock(part).quantity
    if counted == there:
        trail.write(Event.STOCK_CHANGED, part, f"Counted {counted.normalize():f}, as in the book", actor=actor)
        return None
    if not reason.strip():
        raise StockRefusedError(f"The book has {there.normalize():f}. Say why it differs.")
    if abs(counted - there) > MOST_OF_A_PART:
        raise StockRefusedError(f"The book has {there.normalize():f}. Undo what is wrong there first.")
    move, _ = append(
        StockMove, id=id, actor=actor, part=part, kind=MoveKind.COUNTED, quantity=counted - there, note=reason
    )
    _note_stock(part, f"Counted {counted.normalize():f}, the book had {there.normalize():f}", reason, actor)
    return move


@transaction.atomic
def take_from_stock(*, part: PricedPart, line: UUID, quantity: Decimal, job_code: str, actor: Actor) -> StockMove:
    """So many of `part` went into a car: what is fitted is written down even where the book has too few."""
    PricedPart.objects.select_for_update().get(pk=part.pk)
    note = f"Job {job_code}"
    move, is_new = append(
        StockMove, id=use_id(line), actor=actor, part=part, kind=MoveKind.USED, quantity=-quantity, note=note
    )
    if is_new:
        _note_stock(part, f"Used {quantity.normalize():f}", note, actor)
    return move


@transaction.atomic
def put_back(*, line: UUID, actor: Actor) -> None:
    """The line of a job was undone: what it took is in stock again."""
    move = StockMove.objects.filter(pk=use_id(line)).select_related("part").first()
    if move and withdraw(move, actor=actor):
        _note_stock(move.part, f"Back in stock {-move.quantity.normalize():f}", move.note, actor)


@transaction.atomic
def set_low_mark(*, unit_type: UnitType, low_mark: int | None, actor: Actor) -> None:
    """From how few units on the shelf on the owner is told; None: never."""
    if UnitType.objects.filter(pk=unit_type.pk).exclude(low_mark=low_mark).update(low_mark=low_mark):
        said = "not watched" if low_mark is None else f"low at {low_mark}"
        trail.write(Event.STOCK_CHANGED, unit_type, f"Stock of {unit_type} {said}", actor=actor)


def _note_stock(part: PricedPart, what: str, why: str, actor: Actor) -> None:
    trail.write(Event.STOCK_CHANGED, part, f"{what}: {why}" if why else what, actor=actor)
