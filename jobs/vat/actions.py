"""The rates of VAT that the owner describes."""

from decimal import Decimal
from uuid import UUID

from django.db import transaction

from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from jobs.vat.models import VatRate


@transaction.atomic
def add_rate(
    *, name: str, percent: Decimal, wording: str, idempotency_key: UUID, actor: Actor, category: str = ""
) -> VatRate:
    """Add a rate. It never changes: when the law does, retire it and add the new one."""
    values = {"name": name, "percent": percent, "wording": wording, "category": category}
    rate, is_new = VatRate.objects.get_or_create(
        idempotency_key=idempotency_key, defaults={**values, "made_at": actor.at}
    )
    if not is_new:
        refuse_unless_same(rate, values)
        return rate
    trail.write(Event.VAT_RATE_ADDED, rate, f"Added VAT rate {rate}", actor=actor)
    return rate


@transaction.atomic
def retire_rate(*, rate: VatRate, actor: Actor) -> None:
    """Offer a rate on no more bills; those that have it keep it."""
    if VatRate.objects.filter(pk=rate.pk, retired_at=None).update(retired_at=actor.at):
        trail.write(Event.VAT_RATE_RETIRED, rate, f"Retired VAT rate {rate}", actor=actor)
