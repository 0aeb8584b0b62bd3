"""Writing customers down."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from garage.changes.actions import note_change, said_of
from garage.customers.models import Customer
from garage.people.signature import Signature
from garage.site.editions import save_if_unchanged, stands_already
from garage.site.once import refuse_unless_same


def enter_customer(*, once: UUID, at: datetime, **values: Any) -> Customer:
    """A new customer; the same `once` again is the same customer."""
    customer, is_new = Customer.objects.get_or_create(once=once, defaults={"made_at": at, **values})
    if not is_new:
        refuse_unless_same(customer, values)
    return customer


@transaction.atomic
def change_customer(*, customer: Customer, edition: int, values: dict[str, Any], signed: Signature) -> None:
    """Raises `StaleEditError` if somebody else changed the customer in the meantime."""
    if stands_already(customer, values):
        return
    before = said_of(customer, list(values))
    save_if_unchanged(customer, edition=edition, values=values)
    note_change(customer, before=before, after=said_of(customer, list(values)), signed=signed)
