"""Which items of a list apply to which car.

A rule is a mapping of a fact of the car to the values for which the item applies; all must hold, an empty rule holds
for every car. What is not known of the car never hides an item: it applies, and says which fact would decide.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from garage.vehicles.facts import has_rotor, trigger_place
from garage.vehicles.models import (
    CYLINDER_COUNTS,
    Charging,
    Coil,
    EarthPolarity,
    SystemVolts,
    Tachometer,
    TriggerKind,
    TriggerPlace,
)
from jobs.job.models import Job, JobKind

Value = str | int | bool


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact of a car that a rule may ask for: how it is called, and its values with their words."""

    key: str
    label: str
    values: dict[Value, str]


FACTS: dict[str, Fact] = {
    fact.key: fact
    for fact in [
        Fact("earth_polarity", "earth polarity", {choice.value: choice.label for choice in EarthPolarity}),
        Fact("system_volts", "system voltage", {choice.value: choice.label for choice in SystemVolts}),
        Fact("trigger", "trigger kind", {choice.value: choice.label for choice in TriggerKind}),
        Fact("trigger_place", "place of the trigger", {choice.value: choice.label for choice in TriggerPlace}),
        Fact("rotor", "rotor", {True: "rotor and cap fitted", False: "no rotor"}),
        Fact("ballast", "ballast", {True: "ballast fitted", False: "no ballast"}),
        Fact("bypass", "by-pass of the ballast", {True: "by-pass while cranking", False: "no by-pass"}),
        Fact("charging", "charging", {choice.value: choice.label for choice in Charging}),
        Fact("tachometer", "tachometer", {choice.value: choice.label for choice in Tachometer}),
        Fact("cylinders", "number of cylinders", {count: str(count) for count in CYLINDER_COUNTS}),
        Fact(
            "unit_vacuum",
            "vacuum part of the unit",
            {"none": "no vacuum part", "ramp": "vacuum as a ramp", "table": "vacuum as a table"},
        ),
        Fact("job_kind", "kind of job", {choice.value: choice.label for choice in JobKind}),
    ]
}

CarFacts = dict[str, Value | None]


def facts_of(job: Job) -> CarFacts:
    """What is known of the job's car and unit; None where it is not."""
    vehicle = job.vehicle
    engine = getattr(vehicle, "engine", None)
    distributor = getattr(vehicle, "distributor", None)
    coil = getattr(vehicle, "coil", None)
    return {
        "earth_polarity": vehicle.earth_polarity or None,
        "system_volts": vehicle.system_volts,
        "trigger": (distributor.trigger or None) if distributor else None,
        "trigger_place": trigger_place(vehicle) if distributor else None,
        "rotor": has_rotor(vehicle) if distributor and engine else None,
        "ballast": coil.has_ballast if coil else None,
        "bypass": _bypass(coil),
        "charging": vehicle.charging or None,
        "tachometer": vehicle.tachometer or None,
        "cylinders": engine.cylinders if engine else None,
        "unit_vacuum": _unit_vacuum(job),
        "job_kind": job.kind,
    }


def _bypass(coil: Coil | None) -> bool | None:
    """Without a ballast there is nothing to by-pass."""
    if coil is None:
        return None
    return False if coil.has_ballast is False else coil.has_bypass


def _unit_vacuum(job: Job) -> str | None:
    capability = job.unit.revision.capability if job.unit else {}
    if "vacuum" not in capability:
        return None
    part = capability["vacuum"]
    return "none" if part is None else str(part["kind"])


@dataclass(frozen=True, slots=True)
class Applies:
    """Whether an item applies to a car; `undecided` are the keys of the facts that would decide."""

    holds: bool
    undecided: tuple[str, ...] = ()

    @property
    def unknown(self) -> tuple[str, ...]:
        """The facts that would decide, as they are called."""
        return tuple(FACTS[key].label for key in self.undecided)

    @property
    def because(self) -> str:
        return f"Shown because the {' and the '.join(self.unknown)} of this car is not known." if self.unknown else ""


def applies(rule: Mapping[str, list[Value]], facts: CarFacts) -> Applies:
    """Whether an item with `rule` applies to the car of `facts`."""
    known = {key: facts.get(key) for key in rule}
    if any(value is not None and value not in rule[key] for key, value in known.items()):
        return Applies(holds=False)
    return Applies(holds=True, undecided=tuple(key for key, value in known.items() if value is None))


def in_words(rule: Mapping[str, list[Value]]) -> str:
    """The rule as a person reads it: 'positive to body, and 6 V'."""
    return ", and ".join(" or ".join(FACTS[key].values[value] for value in values) for key, values in rule.items())


def check_rule(rule: Any) -> None:
    """Raise ValueError, with a sentence for its writer, unless `rule` asks for known facts and known values."""
    if not isinstance(rule, dict):
        raise ValueError("A rule is a mapping of facts to values.")
    for key, values in rule.items():
        if key not in FACTS:
            raise ValueError(f"No fact of a car is called '{key}'. There are {', '.join(FACTS)}.")
        strange = [value for value in values if value not in FACTS[key].values]
        if not values or strange:
            allowed = ", ".join(str(value) for value in FACTS[key].values)
            raise ValueError(f"The {FACTS[key].label} is one of {allowed}.")
