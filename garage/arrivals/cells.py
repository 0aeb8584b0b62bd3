"""The cells of one row as what a customer and a car take: nothing is converted, what does not fit is refused."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from garage.arrivals.columns import EVERYTHING
from garage.customers.models import Customer
from garage.vehicles.models import CYLINDER_COUNTS, Engine, Vehicle

_CYLINDERS = re.compile(r"(\d{1,2})( ?-?cyl(inders?|s|\.)?)?", re.IGNORECASE)
_YEAR = re.compile(r"\d{4}")

# What a column becomes in the record.
CUSTOMER_FIELDS = {"name": "name", "phone": "phone", "email": "email", "address": "address", "customer_notes": "notes"}
CAR_FIELDS = {
    "registration": "registration", "maker": "maker", "model": "model", "year": "year",
    "chassis_number": "chassis_number", "car_notes": "notes",
}  # fmt: skip
ENGINE_FIELDS = {"engine_number": "number", "cylinders": "cylinders"}


@dataclass(slots=True)
class Row:
    """What one row says, with a sentence for each cell that cannot be taken."""

    line: int
    customer: dict[str, Any] = field(default_factory=dict)
    car: dict[str, Any] = field(default_factory=dict)
    engine: dict[str, Any] = field(default_factory=dict)
    refusals: list[str] = field(default_factory=list)


def row_of(line: int, cells: Sequence[str], *, columns: Sequence[str], header: Sequence[str]) -> Row:
    """What the row on `line` says by the chosen `columns`."""
    row = Row(line)
    too_many = [place for place, cell in enumerate(cells, start=1) if place > len(header) and cell.strip()]
    if too_many:
        row.refusals.append(f"Column {too_many[0]}: more cells than the header’s {len(header)}.")
        return row
    typed: dict[str, str] = {}
    where: dict[str, str] = {}
    for place, (key, cell) in enumerate(zip(columns, cells, strict=False)):
        words = cell.strip()
        if not key or not words:
            continue
        where.setdefault(key, f"Column {place + 1}, {EVERYTHING[key].label}")
        typed[key] = _joined(typed.get(key, ""), key, header[place], words)
    _take(row, typed, where)
    return row


def _joined(before: str, key: str, header: str, words: str) -> str:
    if key == "displacement":  # a figure whose unit stands in the header, or nowhere
        return f"{header or 'Displacement'}: {words}"
    return f"{before}\n{words}" if before else words


def _take(row: Row, typed: dict[str, str], where: dict[str, str]) -> None:
    name = " ".join(part for part in (typed.pop("first_name", ""), typed.pop("surname", "")) if part)
    if name:
        typed["name"] = name
        where["name"] = where.get("first_name") or where["surname"]
    displacement = typed.pop("displacement", "")
    if displacement:
        typed["car_notes"] = "\n".join(part for part in (displacement, typed.get("car_notes", "")) if part)
        where.setdefault("car_notes", where["displacement"])
    for key in ("name", "phone", "email", "maker", "model", "chassis_number", "engine_number"):
        if key in typed:
            typed[key] = " ".join(typed[key].split())
    if "registration" in typed:
        typed["registration"] = " ".join(typed["registration"].upper().split())
    for fields, model, into in (
        (CUSTOMER_FIELDS, Customer, row.customer),
        (CAR_FIELDS, Vehicle, row.car),
        (ENGINE_FIELDS, Engine, row.engine),
    ):
        for key, name_of_field in fields.items():
            if key in typed:
                try:
                    into[name_of_field] = _clean(model, name_of_field, key, typed[key])
                except ValidationError as problem:
                    row.refusals += [f"{where[key]}: {sentence}" for sentence in problem.messages]
    _refuse_incomplete(row, typed)


def _clean(model: type[models.Model], name: str, key: str, words: str) -> Any:
    column = model._meta.get_field(name)
    longest = getattr(column, "max_length", None)
    if longest and len(words) > longest:
        raise ValidationError(f"{len(words):,} letters. At most {longest:,} fit.")
    value: Any = words
    if key == "year":
        if not _YEAR.fullmatch(words):
            raise ValidationError(f"‘{words[:20]}’ is not a year such as 1967.")
        value = int(words)
    if key == "cylinders":
        found = _CYLINDERS.fullmatch(words)
        if not found or int(found[1]) not in CYLINDER_COUNTS:
            raise ValidationError(f"‘{words[:20]}’ is not a number of cylinders.")
        value = int(found[1])
    column.run_validators(value)  # type: ignore[union-attr]
    return value


def _refuse_incomplete(row: Row, typed: dict[str, str]) -> None:
    has_car = bool(row.car.keys() - {"notes"} or row.engine)
    if has_car and "registration" not in typed:
        row.refusals.append("Registration: missing. The row has other facts of a car.")
    if not has_car and row.car:  # notes alone make no car
        row.car = {}
    if not row.customer and not has_car and not row.refusals:
        row.refusals.append("No customer and no car in this row.")
    if row.customer and not {"name", "phone", "email"} & typed.keys():
        row.refusals.append("Customer’s name: missing, phone and email as well.")
