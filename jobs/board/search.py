"""Finding a job, a car, a customer or a unit by any of its words or numbers, however they are typed."""

from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from garage.customers.models import Customer
from garage.lists.numbers import bare, without_separators
from garage.units.models import FittedUnit
from garage.vehicles.models import Vehicle
from jobs.job.models import Job

MOST_FOUND = 20

# Of a shorter piece of a number, too many things are found.
SHORTEST_PIECE = 3


@dataclass(frozen=True, slots=True)
class Found:
    """The first matches of each kind."""

    jobs: list[Job]
    vehicles: list[Vehicle]
    customers: list[Customer]
    units: list[FittedUnit]

    @property
    def nothing(self) -> bool:
        return not (self.jobs or self.vehicles or self.customers or self.units)


# The columns in which words are looked for, and those that hold a number that may be typed without its separators.
_CAR_WORDS = ("registration", "maker", "model", "chassis_number", "customer__name", "engine__number",
              "distributor__number")  # fmt: skip
_CAR_NUMBERS = ("registration", "chassis_number", "engine__number", "distributor__number")
_UNIT_WORDS = ("serial_number", "firmware", "batch", "revision__unit_type__name")
_UNIT_NUMBERS = ("serial_number", "firmware", "batch")


def search(text: str) -> Found:
    """Whatever holds every word of `text`, or a number that reads like the whole of it.

    A car is found by its plate, chassis, engine or distributor number, a unit by its serial number, firmware or batch:
    in one search, all cars that have a batch that is called back.
    """
    words = text.split()
    if not words:
        return Found([], [], [], [])
    cars = Vehicle.objects.select_related("customer")
    units = FittedUnit.objects.select_related("revision__unit_type", "vehicle")
    of_the_car, of_the_unit = _under("vehicle", _CAR_WORDS), _under("unit", _UNIT_WORDS)
    numbers = ("code", *_under("vehicle", _CAR_NUMBERS), *_under("unit", _UNIT_NUMBERS))
    return Found(
        jobs=_matching(Job.objects.with_car(), words, ("code", "wanted", *of_the_car, *of_the_unit), numbers),
        vehicles=_matching(cars, words, _CAR_WORDS, _CAR_NUMBERS),
        customers=_matching(Customer.objects.filter(forgotten_at=None), words, ("name", "phone", "email"), ("phone",)),
        units=_matching(units, words, _UNIT_WORDS, _UNIT_NUMBERS),
    )


def _under(relation: str, columns: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(f"{relation}__{column}" for column in columns)


def _matching(rows: QuerySet[Any], words: list[str], columns: tuple[str, ...], numbers: tuple[str, ...]) -> list[Any]:
    every_word = Q()
    for word in words:
        anywhere = Q()
        # SQLite folds the case of plain letters only: an umlaut is found by asking for each case.
        for spelling in {word, word.lower(), word.upper(), word.capitalize()}:
            for column in columns:
                anywhere |= Q(**{f"{column}__icontains": spelling})
        every_word &= anywhere
    piece = bare("".join(words))
    as_number = Q()
    if len(piece) >= SHORTEST_PIECE:
        for place, column in enumerate(numbers):
            rows = rows.alias(**{f"bare_{place}": without_separators(column)})
            as_number |= Q(**{f"bare_{place}__contains": piece})
    return list(rows.filter(every_word | as_number)[:MOST_FOUND])
