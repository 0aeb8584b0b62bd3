"""Writing cars down: the car and the engine, distributor and coil that belong to it, in one stroke."""

from typing import Any
from uuid import UUID

from django.db import transaction

from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.record.trail import Said, note_change, said_of
from garage.vehicles.models import Coil, Distributor, Engine, Vehicle

PARTS: dict[str, type[Engine] | type[Distributor] | type[Coil]] = {
    "engine": Engine,
    "distributor": Distributor,
    "coil": Coil,
}
Parts = dict[str, dict[str, Any]]


@transaction.atomic
def enter_vehicle(*, idempotency_key: UUID, actor: Actor, values: dict[str, Any], parts: Parts) -> Vehicle:
    """A new car with its parts; the same `idempotency_key` again is the same car."""
    vehicle, is_new = Vehicle.objects.get_or_create(
        idempotency_key=idempotency_key, defaults={"made_at": actor.at, **values}
    )
    if is_new:
        for name, part in PARTS.items():
            part.objects.create(vehicle=vehicle, **parts.get(name, {}))
        trail.write(Event.MADE, vehicle, f"Car added: {vehicle}", actor=actor)
    else:
        refuse_unless_same(vehicle, values)
        for name in PARTS:
            refuse_unless_same(getattr(vehicle, name), parts.get(name, {}))
    return vehicle


@transaction.atomic
def change_vehicle(
    *, vehicle: Vehicle, row_version: int, values: dict[str, Any], parts: Parts, actor: Actor, sentence: str = ""
) -> None:
    """Change the car and its parts in one stroke. `sentence` says why, where the change came from somewhere else.

    Raises
    ------
    StaleEditError
        If somebody else changed the car or one of its parts in the meantime.
    """
    # Asked of each, so that each is fresh from the database for what is written down of the change.
    same = [already_holds(vehicle, values)]
    same += [already_holds(getattr(vehicle, name), parts.get(name, {})) for name in PARTS]
    if all(same):
        return
    before = _said_of_car(vehicle, values, parts)
    save_if_unchanged(vehicle, row_version=row_version, values=values)
    for name, part in PARTS.items():
        part.objects.filter(vehicle=vehicle).update(**parts.get(name, {}))
        getattr(vehicle, name).refresh_from_db()
    note_change(vehicle, before=before, after=_said_of_car(vehicle, values, parts), actor=actor, sentence=sentence)


def _said_of_car(vehicle: Vehicle, values: dict[str, Any], parts: Parts) -> Said:
    said = said_of(vehicle, list(values))
    for name in PARTS:
        said |= said_of(getattr(vehicle, name), list(parts.get(name, {})), prefix=f"{name}, ")
    return said
