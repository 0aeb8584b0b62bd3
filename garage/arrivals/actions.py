"""Bringing a list of customers and cars into the book, and undoing that."""

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from django.db import models, transaction

from garage.arrivals.doubles import Target
from garage.arrivals.models import Arrival, Arrived, WaitingList
from garage.arrivals.plan import Plan
from garage.arrivals.waiting import plan_for
from garage.customers import actions as customers
from garage.customers.models import Customer
from garage.people.models import Workshop
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.models import TrailEntry, kind_of
from garage.record.refusals import RuleRefusedError
from garage.vehicles import actions as vehicles
from garage.vehicles.models import Engine, Vehicle

AT_ONCE = 500
NAMED = 20  # of what stays after an undo
GONE = "This list is no longer here. Upload it again."
CHANGED = "Customers or cars changed since this preview. Look at it again."
NOTHING = "Nothing in this list would be brought in."
FILLED = "From a list"


class ArrivalRefusedError(RuleRefusedError):
    """A list cannot be brought in or undone now. Says why."""


@transaction.atomic
def bring_in(*, waiting_id: UUID, seen: str, actor: Actor) -> Arrival:
    """Bring in the list of that id as its preview of the fingerprint `seen` said; twice is once.

    Raises
    ------
    ArrivalRefusedError
        If the list is gone, nothing would come of it, or the book is not what the preview was made from.
    """
    Workshop.objects.select_for_update().get()  # of two people with one list, the second sees what the first made
    if known := Arrival.objects.filter(idempotency_key=waiting_id).first():
        return known
    waiting = WaitingList.objects.filter(pk=waiting_id, by=actor.person).first()
    if waiting is None:
        raise ArrivalRefusedError(GONE)
    plan = plan_for(waiting)
    if plan.fingerprint != seen:
        raise ArrivalRefusedError(CHANGED)
    if plan.left_out == len(plan.rows):
        raise ArrivalRefusedError(NOTHING)
    arrival = Arrival.objects.create(
        idempotency_key=waiting_id,
        by=actor.person,
        at=actor.at,
        file_name=waiting.file_name,
        row_count=len(plan.rows),
        customers_made=plan.made("customer"),
        cars_made=plan.made("car"),
        filled=plan.filled,
        left_out=plan.left_out,
    )
    made = _make_customers(arrival, plan, actor)
    _make_cars(arrival, plan, made, actor)
    _fill(arrival, plan, actor)
    trail.write(
        Event.ARRIVALS_BROUGHT_IN,
        arrival,
        f"Import: {_in_words(arrival)}",
        actor=actor,
        figures={name: getattr(arrival, name) for name in ("customers_made", "cars_made", "filled", "left_out")},
    )
    waiting.delete()
    return arrival


def _in_words(arrival: Arrival) -> str:
    made = [(arrival.customers_made, "customer"), (arrival.cars_made, "car")]
    said = [f"{count} {thing}{'' if count == 1 else 's'} added" for count, thing in made if count]
    if arrival.filled:
        said.append(f"{arrival.filled} completed")
    return ", ".join(said)


def _made_parts(plan: Plan, kind: str) -> Iterable[tuple[int, Target, dict[str, Any]]]:
    for planned in plan.rows:
        for part in planned.parts:
            if part.kind == kind and part.makes:
                yield planned.row.line, part.target, plan.values_of[(kind, part.target)]


def _make_customers(arrival: Arrival, plan: Plan, actor: Actor) -> dict[Target, int]:
    """Make the new customers; the row of each by what makes it."""
    parts = list(_made_parts(plan, "customer"))
    made = Customer.objects.bulk_create(
        # As at booking: whoever gave a number alone is called by it.
        [
            Customer(
                made_at=actor.at,
                **values | {"name": values.get("name") or values.get("phone") or values["email"][:120]},
            )
            for _, _, values in parts
        ],
        batch_size=AT_ONCE,
    )
    Arrived.objects.bulk_create(
        [
            Arrived(arrival=arrival, line=line, customer=one, row_version=one.row_version)
            for (line, _, _), one in zip(parts, made, strict=True)
        ],
        batch_size=AT_ONCE,
    )
    return {target: one.pk for (_, target, _), one in zip(parts, made, strict=True)}


def _make_cars(arrival: Arrival, plan: Plan, customers_made: dict[Target, int], actor: Actor) -> None:
    owners = {
        planned.car.target: planned.customer.target
        for planned in plan.rows
        if planned.car and planned.car.makes and planned.customer
    }
    parts = list(_made_parts(plan, "car"))
    made = Vehicle.objects.bulk_create(
        [
            Vehicle(
                made_at=actor.at,
                customer_id=owners[target].pk or customers_made[owners[target]],
                **{name: value for name, value in values.items() if not name.startswith("engine__")},
            )
            for _, target, values in parts
        ],
        batch_size=AT_ONCE,
    )
    for model in vehicles.PARTS.values():
        rows: list[Any] = [
            model(vehicle=car, **(_of_engine(values) if model is Engine else {}))
            for (_, _, values), car in zip(parts, made, strict=True)
        ]
        manager: models.Manager[Any] = model._default_manager
        manager.bulk_create(rows, batch_size=AT_ONCE)
    Arrived.objects.bulk_create(
        [
            Arrived(arrival=arrival, line=line, vehicle=one, row_version=one.row_version)
            for (line, _, _), one in zip(parts, made, strict=True)
        ],
        batch_size=AT_ONCE,
    )


def _of_engine(values: dict[str, Any]) -> dict[str, Any]:
    return {name.removeprefix("engine__"): value for name, value in values.items() if name.startswith("engine__")}


def _of_car(values: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if not name.startswith("engine__")}


def _fill(arrival: Arrival, plan: Plan, actor: Actor) -> None:
    """Add to customers and cars that are here what was empty."""
    for pk, (line, values) in plan.fills_of("customer").items():
        customer = Customer.objects.get(pk=pk)
        customers.change_customer(
            customer=customer, row_version=plan.book.customers[pk]["row_version"], values=values, actor=actor
        )
        Arrived.objects.create(
            arrival=arrival, line=line, customer=customer, filled=sorted(values), row_version=customer.row_version
        )
    for pk, (line, values) in plan.fills_of("car").items():
        car = Vehicle.objects.select_related("engine", "distributor", "coil").get(pk=pk)
        _change_car(car, plan.book.cars[pk]["row_version"], values, actor, FILLED)
        Arrived.objects.create(
            arrival=arrival, line=line, vehicle=car, filled=sorted(values), row_version=car.row_version
        )


def _change_car(car: Vehicle, row_version: int, values: dict[str, Any], actor: Actor, sentence: str) -> None:
    vehicles.change_vehicle(
        vehicle=car,
        row_version=row_version,
        values=_of_car(values),
        parts={"engine": _of_engine(values)},
        actor=actor,
        sentence=sentence,
    )


@transaction.atomic
def undo(*, arrival: Arrival, actor: Actor) -> list[str]:
    """Remove what the list made, and empty what it filled; what was worked on since stays, and is named.

    No line of the trail speaks of a customer or car that the list made and nobody touched: nothing is left of them.
    Undone before, nothing happens.
    """
    arrival = Arrival.objects.select_for_update().get(pk=arrival.pk)
    if arrival.undone_at:
        return []
    stays = _empty_what_was_filled(arrival, actor)
    made = arrival.arrived.filter(filled=[])
    stays += _remove(Vehicle, [one.vehicle_id for one in made if one.vehicle_id])
    stays += _remove(Customer, [one.customer_id for one in made if one.customer_id])
    arrival.undone_at, arrival.undone_by = actor.at, actor.person
    arrival.save(update_fields=["undone_at", "undone_by"])
    sentence = "Import undone"
    if stays:
        more = f" and {len(stays) - NAMED} more" if len(stays) > NAMED else ""
        sentence += f". Stays, because work was added: {'; '.join(stays[:NAMED])}{more}"
    trail.write(Event.ARRIVALS_UNDONE, arrival, sentence, actor=actor, figures={"stays": len(stays)})
    return stays


def _empty_what_was_filled(arrival: Arrival, actor: Actor) -> list[str]:
    """Empty again what the list filled, where nobody has changed the customer or car since."""
    stays = []
    for one in arrival.arrived.exclude(filled=[]).select_related("customer", "vehicle"):
        thing = one.customer or one.vehicle
        if thing is None or thing.row_version != one.row_version:
            stays.append(str(thing))
        elif isinstance(thing, Customer):
            values: dict[str, Any] = dict.fromkeys(one.filled, "")
            customers.change_customer(customer=thing, row_version=one.row_version, values=values, actor=actor)
        else:
            numbers = {"year", "engine__cylinders"}
            values = {name: None if name in numbers else "" for name in one.filled}
            _change_car(thing, one.row_version, values, actor, "Import undone")
    return stays


def _remove(model: type[Vehicle] | type[Customer], keys: Sequence[int]) -> list[str]:
    """Delete the rows that nothing was built on; the names of those that stay."""
    untouched, stays = [], []
    manager: models.Manager[Any] = model._default_manager
    for begin in range(0, len(keys), AT_ONCE):
        some = keys[begin : begin + AT_ONCE]
        built_on = _built_on(model, some)
        untouched += [key for key in some if key not in built_on]
        stays += [str(one) for one in manager.filter(pk__in=built_on)]
    for begin in range(0, len(untouched), AT_ONCE):
        manager.filter(pk__in=untouched[begin : begin + AT_ONCE]).delete()
    return stays


def _built_on(model: type[Vehicle] | type[Customer], keys: Sequence[int]) -> set[int]:
    """Those that were changed, that the trail speaks of, or to which a row of any other room belongs."""
    manager: models.Manager[Any] = model._default_manager
    found = set(manager.filter(pk__in=keys).exclude(row_version=1).values_list("pk", flat=True))
    about = TrailEntry.objects.filter(subject_kind=kind_of(model()), subject_id__in=keys)
    found |= set(about.values_list("subject_id", flat=True))
    own = {Arrived, *vehicles.PARTS.values()}
    for relation in model._meta.get_fields(include_hidden=True):
        if isinstance(relation, models.ForeignObjectRel) and relation.related_model not in own:
            others: models.Manager[Any] = relation.related_model._default_manager
            of_them = others.filter(**{f"{relation.field.name}__in": keys})
            found |= set(of_them.values_list(f"{relation.field.name}_id", flat=True))
    return found
