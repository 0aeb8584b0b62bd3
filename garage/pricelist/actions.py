"""Writing the price list."""

from typing import Any
from uuid import UUID

from django.db import transaction

from garage.pricelist.models import PricedPart
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change, said_of


@transaction.atomic
def add_part(*, idempotency_key: UUID, actor: Actor, **values: Any) -> PricedPart:
    """A new part on the list; the same `idempotency_key` again is the same part."""
    part, is_new = PricedPart.objects.get_or_create(
        idempotency_key=idempotency_key, defaults={"made_at": actor.at, **values}
    )
    if is_new:
        trail.write(Event.MADE, part, f"Part added to the price list: {part}", actor=actor)
    else:
        refuse_unless_same(part, values)
    return part


@transaction.atomic
def change_part(*, part: PricedPart, row_version: int, values: dict[str, Any], actor: Actor) -> None:
    """Raises `StaleEditError` if somebody else changed the part in the meantime."""
    if already_holds(part, values):
        return
    before = said_of(part, list(values))
    save_if_unchanged(part, row_version=row_version, values=values)
    note_change(part, before=before, after=said_of(part, list(values)), actor=actor)
