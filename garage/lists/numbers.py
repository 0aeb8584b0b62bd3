"""Numbers that people type with and without their separators: plates, chassis, engines, phones."""

import re
import unicodedata
from typing import Any

from django.db.models import CharField, F, Func
from django.db.models.functions import Upper

# What people put into a number or leave out of it: 'HLD 150 C', 'hld150c', 'F-4410'.
SEPARATORS = (" ", "-", ".", "/")


def bare(text: str) -> str:
    """`text` in capitals, its letters and digits alone, those of other alphabets too: BÜ H 12 is not B H 12."""
    plain = unicodedata.normalize("NFKC", text)
    return re.sub(r"[\W_]", "", plain.upper())


def without_separators(column: str) -> Func:
    """`bare` of a column, in the database: written out, so that the index of the same expression serves it."""
    found: Any = F(column)
    for separator in SEPARATORS:
        found = Func(found, template=f"REPLACE(%(expressions)s, '{separator}', '')", output_field=CharField())
    return Upper(found, output_field=CharField())
