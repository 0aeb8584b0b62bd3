"""The car's record corrected from a sheet: what was measured goes in place of what was written down."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.trail import said_of
from garage.vehicles.actions import change_vehicle
from garage.vehicles.firing_order import names_each_once
from garage.vehicles.models import Vehicle
from jobs.checklists.actions import locked_sheet
from jobs.checklists.around import read_around
from jobs.checklists.car_facts import CarFact, Comparison, Value
from jobs.checklists.models import Entry
from jobs.checklists.refusals import EntryRefusedError, refuse_abandoned
from jobs.job import journal


@transaction.atomic
def correct_record(*, entry: Entry, seen: str, actor: Actor) -> None:
    """Put what `entry` measured into the car's record. Doing it again changes nothing.

    `seen` is what the record said on the person's screen ('' where nothing): a tablet may have waited for hours, and
    what somebody else has written there since is not overwritten unseen. Between reading and writing the row version of
    the car stands guard.

    Raises
    ------
    EntryRefusedError
        If the entry stands no longer, the record says something else by now, or it does not take the value.
    StaleEditError
        If somebody changed the car at the same moment.
    """
    sheet = locked_sheet(entry.sheet)
    refuse_abandoned(sheet.job)
    line = read_around(sheet, entry.item.key, entry.pk).line
    if line is None or line.current != entry or line.comparison is None:
        raise EntryRefusedError(f"‘{entry.item.text}’ was changed meanwhile. Look at it again.")
    found = line.comparison
    if found.agrees:
        return
    if found.recorded_text != seen:
        raise EntryRefusedError(
            f"‘{entry.item.text}’: the car’s record says {found.recorded_text or 'nothing'} by now. Look at it again."
        )
    sentence = _sentence(found)
    _write(
        sheet.job.vehicle, found.fact, found.fact.as_kept(found.measured), f"{sentence}, job {sheet.job.code}", actor
    )
    journal.write(
        sheet.job,
        Event.RECORD_CORRECTED,
        f"{entry.item.text}: {sentence[0].lower()}{sentence[1:]}",
        actor=actor,
        sheet=sheet.kind,
        item=entry.item.key,
        entry=str(entry.pk),
        before=found.recorded_text,
        after=found.measured_text,
    )


def _sentence(found: Comparison) -> str:
    if found.is_new:
        return f"Put in the car’s record: {found.fact.label}, {found.measured_text}"
    return f"Car’s record corrected: {found.fact.label}, from {found.recorded_text} to {found.measured_text}"


def _write(vehicle: Vehicle, fact: CarFact, value: Value, sentence: str, actor: Actor) -> None:
    holder = getattr(vehicle, fact.part) if fact.part else vehicle
    column = holder._meta.get_field(fact.column)
    try:
        column.run_validators(value)  # type: ignore[union-attr]
    except ValidationError as refusal:
        raise EntryRefusedError(f"The car’s record does not take this: {' '.join(refusal.messages)}") from None
    void = _void_with(fact, value, vehicle)
    if void:
        sentence += f"; removed with it: {', '.join(said_of(holder, list(void)))}"
    values = {fact.column: value}
    change_vehicle(
        vehicle=vehicle,
        row_version=vehicle.row_version,
        values={} if fact.part else values,
        parts={fact.part: values | void} if fact.part else {},
        actor=actor,
        sentence=sentence,
    )


def _void_with(fact: CarFact, value: Value, vehicle: Vehicle) -> dict[str, Any]:
    """What the record says and cannot say any longer once `fact` is `value`."""
    coil, order = vehicle.coil, vehicle.engine.firing_order
    if fact.key == "ballast" and value is False:
        return {name: None for name in ("ballast_ohm", "has_bypass") if getattr(coil, name) is not None}
    if fact.key == "cylinders" and order and not names_each_once(order, int(value)):
        return {"firing_order": ""}
    return {}
