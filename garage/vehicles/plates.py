"""Numbers that people type with and without their separators: plates, chassis, engines, telephones."""

import re
import unicodedata
from typing import Any

from django.db.models import CharField, F, Func, QuerySet, Value
from django.db.models.functions import Replace, Upper

from garage.vehicles.models import Vehicle

# What people put into a number or leave out of it: 'HLD 150 C', 'hld150c', 'F-4410'.
SEPARATORS = (" ", "-", ".", "/")


def bare(text: str) -> str:
    """`text` in capitals, its letters and digits alone, those of other alphabets too: BÜ H 12 is not B H 12."""
    plain = unicodedata.normalize("NFKC", text)
    return re.sub(r"[\W_]", "", plain.upper())


def without_separators(column: str) -> Func:
    """`bare` of a column, in the database."""
    found: Any = F(column)
    for separator in SEPARATORS:
        found = Replace(found, Value(separator), Value(""))
    return Upper(found, output_field=CharField())


def cars_with_plate(typed: str) -> QuerySet[Vehicle]:
    """The cars whose plate reads like what was typed, however it was typed."""
    cars = Vehicle.objects.select_related("customer")
    return cars.alias(bare_plate=without_separators("registration")).filter(bare_plate=bare(typed))
