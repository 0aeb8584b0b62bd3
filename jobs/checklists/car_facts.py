"""What is measured on a sheet against what the car's record says.

An item names the fact it is held against (`ChecklistItem.car_fact`). Where both differ the item is not done until a
person has corrected the record or measured again. An empty record takes what was seen with the entry itself; a figure
only when it is put there. The tablet has the same rule in static/js/fitting/car-fact.js; tests/cases/car_facts.json
holds both to it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from garage.quantities.words import plain
from garage.vehicles.firing_order import firing_order, same_firing_order
from garage.vehicles.models import (
    CYLINDER_COUNTS,
    Charging,
    EarthPolarity,
    Rotation,
    SystemVolts,
    TriggerKind,
    Vehicle,
)
from jobs.checklists.measuring import corrected_of
from jobs.checklists.models import ChecklistItem, Entry, ItemKind
from jobs.checklists.rotor_items import NO_ROTOR

Value = str | int | float | bool

# Rounding of a figure that lies exactly on the edge of its tolerance.
HAIR = 1e-9


class How(StrEnum):
    """How an answer is held against the record."""

    CHOICE = "choice"
    FIGURE = "figure"
    ORDER = "order"


@dataclass(frozen=True, slots=True)
class CarFact:
    """A fact of the car's record that a sheet measures.

    `part` is the part of the car that holds it ('' for the car itself), `column` its column there. `values` gives the
    value for each choice of a sheet. A figure agrees within `within` of the recorded one, a part of it, or `margin` in
    its unit. `unit` and `decimals` are those in which a figure is written down.
    """

    key: str
    label: str
    part: str
    column: str
    how: How
    source: str
    values: Mapping[str, Value] = field(default_factory=dict)
    words: Mapping[Value, str] = field(default_factory=dict)
    unit: str = ""
    decimals: int = 0
    within: float = 0.0
    margin: float = 0.0

    @property
    def is_seen(self) -> bool:
        """Whether it is seen on the car, and not measured against its data."""
        return self.how != How.FIGURE

    def recorded(self, vehicle: Vehicle) -> Value | None:
        """What the record says; None where it says nothing."""
        holder = getattr(vehicle, self.part, None) if self.part else vehicle
        value = getattr(holder, self.column, None)
        return None if value == "" else value

    def measured(self, item: ChecklistItem, entry: Entry) -> Value | None:
        """What `entry` says of the fact; None where it says nothing of it, such as a choice that leaves it open."""
        if item.kind == ItemKind.CHOICE:
            return self.values.get(entry.choice)
        if self.how == How.ORDER:
            return firing_order(entry.text) or None
        return corrected_of(item, entry)

    def agree(self, measured: Value, recorded: Value) -> bool:
        if self.how == How.ORDER:
            return same_firing_order(str(measured), str(recorded))
        if self.how == How.FIGURE:
            allowed = max(self.within * abs(float(recorded)), self.margin)
            return abs(float(measured) - float(recorded)) <= allowed + HAIR
        return measured == recorded

    def text(self, value: Value | None) -> str:
        if value is None:
            return ""
        if self.how == How.FIGURE:
            return f"{plain(float(value), self.decimals)} {self.unit}"
        return self.words.get(value, str(value))

    def as_kept(self, value: Value) -> Value:
        """What goes into the record: a figure no finer than it was read."""
        return round(float(value), self.decimals) if self.how == How.FIGURE else value


@dataclass(frozen=True, slots=True)
class Comparison:
    """What was measured beside what the car's record says."""

    fact: CarFact
    measured: Value
    recorded: Value | None

    @property
    def is_new(self) -> bool:
        """Whether the record says nothing yet."""
        return self.recorded is None

    @property
    def agrees(self) -> bool:
        return self.recorded is not None and self.fact.agree(self.measured, self.recorded)

    @property
    def measured_text(self) -> str:
        return self.fact.text(self.measured)

    @property
    def recorded_text(self) -> str:
        return self.fact.text(self.recorded)

    @property
    def sentence(self) -> str:
        """'measured positive to body, the record says negative to body'."""
        if self.is_new:
            return f"measured {self.measured_text}, not in the car’s record yet"
        return f"measured {self.measured_text}, the car’s record says {self.recorded_text}"


def compare(item: ChecklistItem, entry: Entry, vehicle: Vehicle) -> Comparison | None:
    """`entry` held against the record of `vehicle`; None where there is nothing to hold against it."""
    fact = CAR_FACTS.get(item.car_fact)
    if fact is None:
        return None
    measured = fact.measured(item, entry)
    return None if measured is None else Comparison(fact, measured, fact.recorded(vehicle))


EQUAL = "must be equal"
PRACTICE = "common practice, no source"


def _words(choices: Any) -> dict[Value, str]:
    return {choice.value: choice.label for choice in choices}


# A sheet may name a kind of trigger by the word that is stored or by the one on the screen.
TRIGGERS: dict[str, Value] = {name: kind.value for kind in TriggerKind for name in (kind.value, kind.label)}

CAR_FACTS: dict[str, CarFact] = {
    fact.key: fact
    for fact in (
        CarFact(
            "earth_polarity", "earth polarity", "", "earth_polarity", How.CHOICE, EQUAL,
            values={choice.value: choice.value for choice in EarthPolarity}, words=_words(EarthPolarity),
        ),
        CarFact(
            "system_volts", "system voltage", "", "system_volts", How.CHOICE, EQUAL,
            values={choice.label: choice.value for choice in SystemVolts}, words=_words(SystemVolts),
        ),
        CarFact(
            "rotation", "rotor’s direction", "distributor", "rotation", How.CHOICE, EQUAL,
            values={choice.value: choice.value for choice in Rotation}, words=_words(Rotation),
        ),
        CarFact(
            "trigger", "trigger kind", "distributor", "trigger", How.CHOICE, EQUAL,
            values=TRIGGERS, words=_words(TriggerKind),
        ),
        CarFact(
            "cylinders", "number of cylinders", "engine", "cylinders", How.CHOICE, EQUAL,
            values={str(count): count for count in CYLINDER_COUNTS},
        ),
        CarFact("firing_order", "firing order", "engine", "firing_order", How.ORDER, EQUAL),
        CarFact(
            "ballast", "ballast", "coil", "has_ballast", How.CHOICE, EQUAL,
            values={"fitted": True, "none": False}, words={True: "ballast fitted", False: "no ballast"},
        ),
        CarFact(
            "bypass", "by-pass while cranking", "coil", "has_bypass", How.CHOICE, EQUAL,
            values={"fitted": True, "none": False}, words={True: "by-pass fitted", False: "no by-pass"},
        ),
        CarFact(
            "rotor", "rotor", "distributor", "has_rotor", How.CHOICE, EQUAL,
            values={"rotor and cap": True, "1 mm or more": True, "less than 1 mm": True, NO_ROTOR: False},
            words={True: "rotor and cap", False: NO_ROTOR},
        ),
        CarFact(
            "charging", "charging", "", "charging", How.CHOICE, EQUAL,
            values={choice.value: choice.value for choice in Charging},
        ),
        # Data ±10 %, the coil's corrected to 20 °C; a ballast is no copper and is held as it was read.
        CarFact(
            "coil_ohm", "coil primary at 20 °C", "coil", "primary_ohm", How.FIGURE, PRACTICE,
            unit="ohm", decimals=2, within=0.1,
        ),
        CarFact(
            "ballast_ohm", "ballast resistance", "coil", "ballast_ohm", How.FIGURE, PRACTICE,
            unit="ohm", decimals=2, within=0.1,
        ),
        # The scale of a tachometer is read no finer.
        CarFact(
            "red_line", "red line", "engine", "red_line_rpm", How.FIGURE, PRACTICE, unit="rpm", margin=50.0,
        ),
    )
}  # fmt: skip


def misfit(key: str, kind: str, choices: Sequence[str]) -> str:
    """Why an item of `kind` cannot be held against the fact `key`; empty where it can."""
    if not key:
        return ""
    fact = CAR_FACTS.get(key)
    if fact is None:
        return f"No fact of a car is called ‘{key}’."
    asked = {How.CHOICE: ItemKind.CHOICE, How.FIGURE: ItemKind.MEASURE, How.ORDER: ItemKind.TEXT}[fact.how]
    if kind != asked:
        return f"The {fact.label} is compared with a {asked.label}."
    strange = [choice for choice in choices if choice not in fact.values]
    if fact.how == How.CHOICE and len(strange) == len(choices):
        return f"The {fact.label} is one of: {', '.join(fact.values)}."
    return ""
