"""Writing customers down."""

from typing import Any
from uuid import UUID

from django.db import transaction

from garage.customers.models import Customer
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change, said_of


@transaction.atomic
def enter_customer(*, idempotency_key: UUID, actor: Actor, **values: Any) -> Customer:
    """A new customer; the same `idempotency_key` again is the same customer."""
    customer, is_new = Customer.objects.get_or_create(
        idempotency_key=idempotency_key, defaults={"made_at": actor.at, **values}
    )
    if is_new:
        trail.write(Event.MADE, customer, f"Customer added: {customer}", actor=actor)
    else:
        refuse_unless_same(customer, values)
    return customer


@transaction.atomic
def change_customer(*, customer: Customer, row_version: int, values: dict[str, Any], actor: Actor) -> None:
    """Raises `StaleEditError` if somebody else changed the customer in the meantime."""
    if already_holds(customer, values):
        return
    before = said_of(customer, list(values))
    save_if_unchanged(customer, row_version=row_version, values=values)
    note_change(customer, before=before, after=said_of(customer, list(values)), actor=actor)
