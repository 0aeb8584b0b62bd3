"""Finding who and what is here already: customers by phone, email, name and address; cars by plate and chassis."""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from garage.arrivals.cells import Row
from garage.customers.models import Customer
from garage.lists.numbers import bare
from garage.vehicles.models import Vehicle

SHORTEST_PHONE = 5  # digits; fewer are an extension, or a slip
SHORTEST_CHASSIS = 5


@dataclass(frozen=True, slots=True)
class Target:
    """A customer or car: one of the book by its row, or one of the list by the line that makes it."""

    pk: int | None = None
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """What a row seems to speak of, and by what that is seen."""

    target: Target
    by: str


@dataclass(slots=True)
class Index:
    """Targets by the keys under which they are found."""

    of: dict[tuple[str, str], list[Target]] = field(default_factory=dict)

    def add(self, keys: Iterable[tuple[str, str]], target: Target) -> None:
        for key in keys:
            there = self.of.setdefault(key, [])
            if target not in there:
                there.append(target)

    def first(self, keys: Iterable[tuple[str, str]]) -> Found | None:
        """The first target of the first key that is known."""
        for key in keys:
            if there := self.of.get(key):
                return Found(there[0], key[0])
        return None

    def all_named(self, name: str) -> list[Target]:
        return self.of.get(("name", folded(name)), [])


def folded(text: str) -> str:
    """`text` without capitals, accents, marks and spaces: what two people write differently for the same."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return re.sub(r"[\W_]+", "", "".join(letter for letter in plain if not unicodedata.combining(letter)))


def digits(phone: str) -> str:
    """The digits of a phone number, an international 00 or + alike."""
    found = "".join(letter for letter in unicodedata.normalize("NFKC", phone) if letter in "0123456789")
    return found.removeprefix("00") if found.startswith("00") else found


def customer_keys(values: Mapping[str, Any]) -> list[tuple[str, str]]:
    """The keys of a customer, the surest first. A name counts only with its address."""
    name, address = folded(values.get("name") or ""), folded(values.get("address") or "")
    phone = digits(values.get("phone") or "")
    keys = [("phone", phone)] if len(phone) >= SHORTEST_PHONE else []
    if email := (values.get("email") or "").strip().casefold():
        keys.append(("email", email))
    if name and address:
        keys.append(("name and address", f"{name} {address}"))
    return keys


def car_keys(values: Mapping[str, Any]) -> list[tuple[str, str]]:
    plate, chassis = bare(values.get("registration") or ""), bare(values.get("chassis_number") or "")
    keys = [("plate", plate)] if plate else []
    if len(chassis) >= SHORTEST_CHASSIS:
        keys.append(("chassis number", chassis))
    return keys


def name_only(row: Row) -> bool:
    """Whether the row says a customer's name and nothing by which to tell two of that name apart."""
    return not row.customer.keys() & {"phone", "email", "address"}


@dataclass(slots=True)
class Book:
    """The customers and cars that are here, with the columns that a list can fill, and how they are found."""

    customers: dict[int, dict[str, Any]]
    cars: dict[int, dict[str, Any]]
    by_customer: Index
    by_car: Index


CUSTOMER_COLUMNS = ("pk", "row_version", "name", "phone", "email", "address", "notes")
CAR_COLUMNS = (
    "pk", "row_version", "customer_id", "registration", "maker", "model", "year", "chassis_number", "notes",
    "engine__number", "engine__cylinders",
)  # fmt: skip


def the_book() -> Book:
    """Everything that is here, read at once."""
    customers = {row["pk"]: row for row in Customer.objects.filter(forgotten_at=None).values(*CUSTOMER_COLUMNS)}
    cars = {row["pk"]: row for row in Vehicle.objects.values(*CAR_COLUMNS)}
    by_customer, by_car = Index(), Index()
    for pk in sorted(customers):
        row = customers[pk]
        by_customer.add([*customer_keys(row), ("name", folded(row["name"]))], Target(pk=pk))
    for pk in sorted(cars):
        by_car.add(car_keys(cars[pk]), Target(pk=pk))
    return Book(customers, cars, by_customer, by_car)
