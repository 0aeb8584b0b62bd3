"""Form fields that take a figure in the person's unit and clean it to the canonical one: the one conversion in."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from garage.quantities.typed import NotAFigureError, figure
from garage.quantities.words import plain
from timing.errors import TimingError
from timing.units import convert

# What a keyboard calls the units that `timing.units` knows.
SPELLINGS = {
    "kpa": "kPa",
    "inhg": "inHg",
    "mmhg": "mmHg",
    "mbar": "mbar",
    "bar": "bar",
    "psi": "psi",
    '"': "inHg",
    "in": "inHg",
    "pa": "Pa",
}
FIGURE_AND_UNIT = re.compile(r"^\s*([+\-−]?[0-9.,]+)\s*([A-Za-z\"]*)\s*$")


class PressureField(forms.FloatField):
    """A pressure or vacuum. Shown and read in `unit`, clean in kPa; '12 inHg' is understood whatever the unit shown."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def __init__(self, *, unit: str = "kPa", **kwargs: Any) -> None:
        self.unit = unit
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]
        if value in self.empty_values:
            return None
        found = FIGURE_AND_UNIT.match(str(value))
        if not found:
            raise ValidationError(f"Enter a figure in {self.unit}.", code="invalid")
        digits, spelling = found.groups()
        unit = SPELLINGS.get(spelling.lower(), spelling) if spelling else self.unit
        try:
            return float(convert(figure(digits), unit, "kPa"))
        except NotAFigureError as problem:
            raise ValidationError(str(problem), code="invalid") from None
        except TimingError as problem:
            raise ValidationError(str(problem), code="invalid") from problem

    def prepare_value(self, value: Any) -> Any:
        """A canonical figure as the person wrote it; what was typed and refused comes back as it was typed."""
        if isinstance(value, int | float):
            return plain(float(convert(float(value), "kPa", self.unit)))
        return value
