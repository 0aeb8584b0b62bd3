"""What bringing a list in would do, row by row: the preview shows it, and the action does it."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from garage.arrivals.cells import Row, row_of
from garage.arrivals.doubles import Book, Found, Index, Target, car_keys, customer_keys, folded, name_only


class Choice(StrEnum):
    """What is done with a row that seems to be here already."""

    KEEP = "keep"
    FILL = "fill"
    NEW = "new"


CHOICES = [(Choice.KEEP, "Keep ours"), (Choice.FILL, "Fill what is empty"), (Choice.NEW, "Add as new")]


class Group(StrEnum):
    """The kinds of rows in the preview, in its order."""

    REFUSED = "refused"
    DOUBLE = "double"
    IN_FILE = "in-file"
    NEW = "new"
    HERE = "here"


GROUPS = {
    Group.REFUSED: "Refused",
    Group.DOUBLE: "Likely doubles",
    Group.IN_FILE: "Doubled in the file",
    Group.NEW: "New",
    Group.HERE: "Here already",
}


@dataclass(slots=True)
class Part:
    """The customer or the car of a row: what it says, what it seems to be, and what is done with it."""

    kind: str  # 'customer' or 'car'
    values: dict[str, Any]
    found: Found | None = None
    asks: bool = False  # whether a person has to look: it differs, or could fill something
    choice: Choice = Choice.KEEP
    makes: bool = False
    target: Target = field(default_factory=Target)
    fills: dict[str, Any] = field(default_factory=dict)  # what FILL would add


@dataclass(slots=True)
class PlannedRow:
    row: Row
    customer: Part | None = None
    car: Part | None = None
    group: Group = Group.NEW

    @property
    def parts(self) -> list[Part]:
        return [part for part in (self.customer, self.car) if part]


@dataclass(slots=True)
class Plan:
    """Every row of the list in its order, and what each customer and car of it would hold in the end."""

    rows: list[PlannedRow]
    book: Book
    values_of: dict[tuple[str, Target], dict[str, Any]]

    def of(self, group: str) -> list[PlannedRow]:
        return [planned for planned in self.rows if planned.group == group]

    def made(self, kind: str) -> int:
        return sum(part.makes for part in self._parts(kind))

    def fills_of(self, kind: str) -> dict[int, tuple[int, dict[str, Any]]]:
        """What is added to each customer or car of the book, with the first line that does."""
        found: dict[int, tuple[int, dict[str, Any]]] = {}
        for planned in self.rows:
            for part in planned.parts:
                if part.kind == kind and is_filled(part) and part.target.pk is not None:
                    _, fills = found.setdefault(part.target.pk, (planned.row.line, {}))
                    fills.update(part.fills)
        return found

    @property
    def filled(self) -> int:
        return len(self.fills_of("customer")) + len(self.fills_of("car"))

    @property
    def left_out(self) -> int:
        """Rows of which nothing new comes into the book."""
        return sum(not any(part.makes or is_filled(part) for part in planned.parts) for planned in self.rows)

    def _parts(self, kind: str = "") -> list[Part]:
        rows = [planned for planned in self.rows if planned.group != Group.REFUSED]
        return [part for planned in rows for part in planned.parts if kind in ("", part.kind)]

    @property
    def fingerprint(self) -> str:
        """Of what was seen: who is here already, and what is refused. Choices do not change it."""
        seen = [
            [planned.row.line, planned.row.refusals, [part.found and part.found.target.pk for part in planned.parts]]
            for planned in self.rows
        ]
        return hashlib.sha256(json.dumps(seen).encode()).hexdigest()


def is_filled(part: Part) -> bool:
    """Whether something is added to a customer or car of the book."""
    return not part.makes and part.choice == Choice.FILL and bool(part.fills) and part.target.pk is not None


def choice_key(row: Row, part: Part) -> str:
    return f"{row.line} {part.kind}"


@dataclass(slots=True)
class Planner:
    """Goes through the rows from the first to the last: what a row makes, a later one may mean."""

    book: Book
    choices: Mapping[str, str]
    listed_customers: Index = field(default_factory=Index)
    listed_cars: Index = field(default_factory=Index)
    values_of: dict[tuple[str, Target], dict[str, Any]] = field(default_factory=dict)

    def planned(self, row: Row) -> PlannedRow:
        planned = PlannedRow(row)
        if not row.refusals and row.car:
            self._car(planned)
        if not row.refusals and row.customer:
            self._customer(planned)
        if planned.car and planned.car.makes and not planned.customer and not row.refusals:
            row.refusals.append("A new car needs its customer: name, phone or email.")
        planned.group = self._group(planned)
        if planned.group == Group.REFUSED:
            planned.customer = planned.car = None
        else:
            self._remember(planned)
        return planned

    def _car(self, planned: PlannedRow) -> None:
        row = planned.row
        values = row.car | {f"engine__{name}": value for name, value in row.engine.items()}
        found = self.listed_cars.first(car_keys(values)) or self.book.by_car.first(car_keys(values))
        planned.car = part = Part("car", values, found)
        self._decide(row, part, known_of=self.book.cars)
        if part.makes:
            row.refusals += [
                f"{label}: missing. A new car needs it."
                for name, label in (("maker", "Make"), ("model", "Model"))
                if not values.get(name)
            ]

    def _customer(self, planned: PlannedRow) -> None:
        row = planned.row
        keys = customer_keys(row.customer)
        found = self.listed_customers.first(keys) or self.book.by_customer.first(keys)
        by_name_alone = False
        if found is None and name_only(row):
            found, by_name_alone = self._by_name(planned)
            if row.refusals:
                return
        planned.customer = part = Part("customer", dict(row.customer), found)
        self._decide(row, part, known_of=self.book.customers, asks=by_name_alone)

    def _by_name(self, planned: PlannedRow) -> tuple[Found | None, bool]:
        """Whoever bears the name, and whether a person has to look: one of the list is meant, one of the book maybe."""
        row = planned.row
        name = row.customer["name"]
        car = planned.car
        if car and not car.makes and car.target.pk is not None:
            owner = Target(pk=self.book.cars[car.target.pk]["customer_id"])
            if owner in self.book.by_customer.all_named(name):
                return Found(owner, "name"), False
        if listed := self.listed_customers.all_named(name):
            if len(listed) == 1:
                return Found(listed[0], "name"), False
        elif len(listed := self.book.by_customer.all_named(name)) == 1:
            return Found(listed[0], "name"), True
        if listed:
            row.refusals.append(f"{len(listed)} customers have this name. Add phone, email or address.")
        return None, False

    def _decide(self, row: Row, part: Part, *, known_of: Mapping[int, dict[str, Any]], asks: bool = False) -> None:
        if part.found is None:
            part.makes, part.target = True, Target(line=row.line)
            return
        target = part.found.target
        known = self.values_of.get((part.kind, target)) or known_of.get(target.pk or 0, {})
        part.fills = {name: value for name, value in part.values.items() if known.get(name) in (None, "")}
        differs = [
            name for name, value in part.values.items() if name not in part.fills and not _same(name, known, value)
        ]
        part.asks = asks or bool(part.fills or differs)
        chosen = self.choices.get(choice_key(row, part), "")
        part.choice = Choice(chosen) if part.asks and chosen in list(Choice) else Choice.KEEP
        part.makes = part.choice == Choice.NEW
        part.target = Target(line=row.line) if part.makes else target

    def _group(self, planned: PlannedRow) -> Group:
        parts = planned.parts
        if planned.row.refusals:
            return Group.REFUSED
        if any(part.asks and part.found and part.found.target.pk is not None for part in parts):
            return Group.DOUBLE
        doubled = [part for part in parts if part.found and part.found.target.line is not None]
        if any(part.kind == "car" or part.asks or len(parts) == 1 for part in doubled):
            return Group.IN_FILE
        return Group.HERE if all(part.found for part in parts) else Group.NEW

    def _remember(self, planned: PlannedRow) -> None:
        for part in planned.parts:
            index = self.listed_customers if part.kind == "customer" else self.listed_cars
            keys = customer_keys(part.values) if part.kind == "customer" else car_keys(part.values)
            if part.kind == "customer" and part.values.get("name"):
                keys.append(("name", folded(part.values["name"])))
            index.add(keys, part.target)
            now = self.values_of.setdefault((part.kind, part.target), self._values_in_book(part))
            if part.makes:
                now.update(part.values)
            elif part.choice == Choice.FILL:
                now.update(part.fills)

    def _values_in_book(self, part: Part) -> dict[str, Any]:
        there = self.book.customers if part.kind == "customer" else self.book.cars
        return dict(there.get(part.target.pk or 0, {}))


def _same(name: str, known: Mapping[str, Any], value: Any) -> bool:
    """Whether two people would mean the same by it."""
    if name == "phone":
        return customer_keys({"phone": value}) == customer_keys({"phone": known[name]})
    return folded(str(known[name])) == folded(str(value))


def plan_of(
    rows: Sequence[tuple[int, Sequence[str]]],
    *,
    header: Sequence[str],
    columns: Sequence[str],
    choices: Mapping[str, str],
    book: Book,
) -> Plan:
    """What bringing in these `rows` would do to the `book`."""
    planner = Planner(book, choices)
    planned = [planner.planned(row_of(line, cells, columns=columns, header=header)) for line, cells in rows]
    return Plan(planned, book, planner.values_of)
