"""Describing unit types, and entering the very units that are fitted."""

import uuid

from django.db import transaction
from django.db.models import Max

import timing.unit
from garage.people.signature import Signature
from garage.site.editions import save_if_unchanged
from garage.units.capability import capability_of
from garage.units.models import FittedUnit, UnitType, UnitTypeRevision
from garage.vehicles.models import Vehicle


@transaction.atomic
def describe_unit_type(
    *, name: str, holds: timing.unit.UnitType, signed: Signature, once: uuid.UUID
) -> UnitTypeRevision:
    """A new unit type with its first description."""
    made = UnitTypeRevision.objects.filter(once=once).first()
    if made is not None:
        return made
    return UnitTypeRevision.objects.create(
        unit_type=UnitType.objects.create(name=name),
        number=1,
        capability=capability_of(holds),
        made_at=signed.at,
        made_by=signed.by,
        once=once,
    )


@transaction.atomic
def revise_unit_type(
    *, unit_type: UnitType, holds: timing.unit.UnitType, reason: str, signed: Signature, once: uuid.UUID
) -> UnitTypeRevision:
    """Another description of a unit type. Units entered and maps made before keep the one they began with."""
    made = UnitTypeRevision.objects.filter(once=once).first()
    if made is not None:
        return made
    UnitType.objects.select_for_update().get(pk=unit_type.pk)  # numbers are given out one at a time
    highest = unit_type.revisions.aggregate(last=Max("number"))["last"] or 0
    return UnitTypeRevision.objects.create(
        unit_type=unit_type,
        number=highest + 1,
        capability=capability_of(holds),
        reason=reason,
        made_at=signed.at,
        made_by=signed.by,
        once=once,
    )


def retire_unit_type(*, unit_type: UnitType, retired: bool) -> None:
    """Offer this type no more for new units, or offer it again. What was fitted stays explicable."""
    UnitType.objects.filter(pk=unit_type.pk).update(retired=retired)


@transaction.atomic
def enter_unit(
    *, revision: UnitTypeRevision, serial_number: str, notes: str, signed: Signature, once: uuid.UUID
) -> FittedUnit:
    """Enter one unit by its serial number; it lies on the shelf until a job takes it."""
    made = FittedUnit.objects.filter(once=once).first()
    if made is not None:
        return made
    return FittedUnit.objects.create(
        revision=revision, serial_number=serial_number, notes=notes, made_at=signed.at, once=once
    )


def change_unit(*, unit: FittedUnit, edition: int, notes: str) -> None:
    """Change what is noted about a unit. Its type and serial number stay: they are what it is."""
    save_if_unchanged(unit, edition=edition, values={"notes": notes})


def put_in_car(*, unit: FittedUnit, vehicle: Vehicle) -> None:
    """The unit is in this car from now on."""
    FittedUnit.objects.filter(pk=unit.pk).update(vehicle=vehicle, removed_at=None)


def back_on_shelf(*, unit: FittedUnit) -> None:
    """The unit was not in a car after all, or is sound and may go into another."""
    FittedUnit.objects.filter(pk=unit.pk).update(vehicle=None, removed_at=None)


def take_out(*, unit: FittedUnit, signed: Signature) -> None:
    """The unit has come out of its car. The record of the car keeps it."""
    FittedUnit.objects.filter(pk=unit.pk, removed_at=None).update(removed_at=signed.at)
