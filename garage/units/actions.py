"""Describing unit types, and entering the very units that are fitted."""

import uuid

from django.db import transaction
from django.db.models import Max

import timing.unit
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import note_change, said_of
from garage.units.capability import capability_of
from garage.units.models import FittedUnit, UnitType, UnitTypeRevision
from garage.vehicles.models import Vehicle

NAME_TAKEN = "A unit type with this name exists."


class UnitRuleError(RuleRefusedError):
    """Something the rules about units forbid. The message is for the person who asked."""


@transaction.atomic
def describe_unit_type(
    *, name: str, holds: timing.unit.UnitType, actor: Actor, idempotency_key: uuid.UUID
) -> UnitTypeRevision:
    """A new unit type with its first description; the same `idempotency_key` again is the same one.

    Raises
    ------
    UnitRuleError
        If somebody else described a type of this name in the meantime.
    """
    unit_type, _ = UnitType.objects.get_or_create(name=name)
    made = _described_before(unit_type, holds=holds, idempotency_key=idempotency_key)
    if made is None and unit_type.revisions.exists():
        raise UnitRuleError(NAME_TAKEN)
    return made or _described(unit_type, 1, holds=holds, reason="", actor=actor, idempotency_key=idempotency_key)


@transaction.atomic
def revise_unit_type(
    *, unit_type: UnitType, holds: timing.unit.UnitType, reason: str, actor: Actor, idempotency_key: uuid.UUID
) -> UnitTypeRevision:
    """Another description of a unit type. Units entered and maps made before keep the one they began with."""
    made = _described_before(unit_type, holds=holds, idempotency_key=idempotency_key)
    highest = unit_type.revisions.aggregate(last=Max("number"))["last"] or 0
    return made or _described(
        unit_type, highest + 1, holds=holds, reason=reason, actor=actor, idempotency_key=idempotency_key
    )


def _described_before(
    unit_type: UnitType, *, holds: timing.unit.UnitType, idempotency_key: uuid.UUID
) -> UnitTypeRevision | None:
    """The description that this form has made already, if it comes again."""
    # Numbers are given out one at a time, and of one form sent twice at once the second waits here.
    UnitType.objects.select_for_update().get(pk=unit_type.pk)
    made = UnitTypeRevision.objects.filter(idempotency_key=idempotency_key).first()
    if made is not None:
        refuse_unless_same(made, {"unit_type": unit_type, "capability": capability_of(holds)})
    return made


def _described(
    unit_type: UnitType,
    number: int,
    *,
    holds: timing.unit.UnitType,
    reason: str,
    actor: Actor,
    idempotency_key: uuid.UUID,
) -> UnitTypeRevision:
    revision = UnitTypeRevision.objects.create(
        unit_type=unit_type,
        number=number,
        capability=capability_of(holds),
        reason=reason,
        made_at=actor.at,
        made_by=actor.person,
        idempotency_key=idempotency_key,
    )
    event = Event.UNIT_TYPE_DESCRIBED if number == 1 else Event.UNIT_TYPE_REVISED
    sentence = f"{revision} described" + (f": {reason}" if reason else "")
    trail.write(event, unit_type, sentence, actor=actor, figures={"revision": number})
    return revision


@transaction.atomic
def retire_unit_type(*, unit_type: UnitType, retired: bool, actor: Actor) -> None:
    """Offer this type no more for new units, or offer it again. What was fitted stays explicable."""
    if UnitType.objects.filter(pk=unit_type.pk).exclude(retired=retired).update(retired=retired):
        sentence = f"{unit_type} {'withdrawn' if retired else 'offered again'}"
        trail.write(Event.UNIT_TYPE_WITHDRAWN, unit_type, sentence, actor=actor)


@transaction.atomic
def enter_unit(
    *,
    revision: UnitTypeRevision,
    serial_number: str,
    notes: str,
    actor: Actor,
    idempotency_key: uuid.UUID,
    firmware: str = "",
    batch: str = "",
) -> FittedUnit:
    """Enter one unit by its serial number; it lies on the shelf until a job takes it.

    Raises
    ------
    UnitRuleError
        If a unit of this type with this serial number is there already.
    """
    # One at a time for a type: of two people with the same unit in hand, the second is told.
    UnitType.objects.select_for_update().get(pk=revision.unit_type_id)
    typed = {
        "revision": revision,
        "serial_number": serial_number,
        "firmware": firmware,
        "batch": batch,
        "notes": notes,
    }
    made = FittedUnit.objects.filter(idempotency_key=idempotency_key).first()
    if made is not None:
        refuse_unless_same(made, typed)
        return made
    twins = FittedUnit.objects.filter(revision__unit_type=revision.unit_type_id, serial_number__iexact=serial_number)
    if twins.exists():
        raise UnitRuleError("This unit type already has this serial number.")
    unit = FittedUnit.objects.create(**typed, made_at=actor.at, idempotency_key=idempotency_key)
    trail.write(Event.MADE, unit, f"Unit added: {unit}", actor=actor)
    return unit


@transaction.atomic
def change_unit(*, unit: FittedUnit, row_version: int, actor: Actor, **noted: str) -> None:
    """Change the firmware, batch or notes of a unit. Its type and serial number stay: they are what it is.

    Raises `StaleEditError` if somebody else changed the notes in the meantime.
    """
    if already_holds(unit, noted):
        return
    before = said_of(unit, list(noted))
    save_if_unchanged(unit, row_version=row_version, values=noted)
    note_change(unit, before=before, after=said_of(unit, list(noted)), actor=actor)


@transaction.atomic
def put_in_car(*, unit: FittedUnit, vehicle: Vehicle, actor: Actor) -> None:
    """The unit is in this car from now on."""
    FittedUnit.objects.filter(pk=unit.pk).update(vehicle=vehicle, removed_at=None)
    trail.write(Event.UNIT_PUT_IN, unit, f"Put in {vehicle}", actor=actor, figures={"vehicle": vehicle.pk})


@transaction.atomic
def back_on_shelf(*, unit: FittedUnit, actor: Actor) -> None:
    """The unit was not in a car after all, or is sound and may go into another."""
    was_in = unit.vehicle
    if FittedUnit.objects.filter(pk=unit.pk).exclude(vehicle=None).update(vehicle=None, removed_at=None):
        trail.write(Event.UNIT_SHELVED, unit, f"Back on the shelf; was in {was_in}", actor=actor)


@transaction.atomic
def take_out(*, unit: FittedUnit, actor: Actor) -> None:
    """The unit has come out of its car. The record of the car keeps it."""
    if FittedUnit.objects.filter(pk=unit.pk, removed_at=None).update(removed_at=actor.at):
        trail.write(Event.UNIT_TAKEN_OUT, unit, f"Taken out of {unit.vehicle}", actor=actor)
