"""What a sheet found of a car, written into the car's record: in place of what it said, or where it said nothing."""

from typing import Any

from django.core.exceptions import ValidationError

from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.row_versions import StaleEditError
from garage.record.trail import said_of
from garage.vehicles.actions import change_vehicle
from garage.vehicles.firing_order import names_each_once
from garage.vehicles.models import Vehicle
from jobs.checklists.car_facts import CarFact, Comparison, Value, compare
from jobs.checklists.models import Entry, JobSheet, Outcome
from jobs.checklists.refusals import EntryRefusedError
from jobs.job import journal


def put_in_record(*, sheet: JobSheet, entry: Entry, found: Comparison, actor: Actor) -> None:
    """Write what `entry` found into the record of the car, with a line in its trail and in the journal."""
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


def fill_empty_record(*, sheet: JobSheet, entry: Entry, actor: Actor) -> None:
    """What was seen on the car goes into a record that says nothing of it: there is nothing to decide.

    A figure does not: what a coil measures is not what its data say. Where the record does not take it, or somebody
    changes the car at this moment, the item asks as ever.
    """
    found = compare(entry.item, entry, sheet.job.vehicle) if entry.outcome == Outcome.DONE else None
    if found is None or not found.is_new or not found.fact.is_seen:
        return
    try:
        put_in_record(sheet=sheet, entry=entry, found=found, actor=actor)
    except (EntryRefusedError, StaleEditError):
        return


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
