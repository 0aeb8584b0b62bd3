"""Figures as people type them: with a point or a comma, and either minus sign. One reading for every form."""

import re
from math import isfinite
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models

from garage.quantities.limits import Between
from garage.quantities.words import exactly

_FIGURE = re.compile(r"[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")
# A thousand to one person, and one to another.
_TWO_FIGURES = re.compile(r"[-+]?[1-9][0-9]{0,2}(,[0-9]{3})+")


class NotAFigureError(ValueError):
    """What was typed is no figure, or could be two; the message is for the person who typed it."""


def as_digits(typed: str) -> str:
    """`typed` with a point and a plain minus sign, its digits as they were.

    Not left to Python, to which 1_0, 1e3, infinity and the digits of other scripts are figures too.

    Raises
    ------
    NotAFigureError
        If it is no figure, or could be either of two.
    """
    text = typed.strip().replace("\u2212", "-").replace("\u00a0", "")
    if not text:
        raise NotAFigureError("Enter a figure.")
    if _TWO_FIGURES.fullmatch(text):
        raise NotAFigureError(f"‘{text}’ could mean {text.replace(',', '')} or {text.replace(',', '.', 1)}.")
    digits = text.replace(",", ".")
    if not _FIGURE.fullmatch(digits) or not isfinite(float(digits)):
        raise NotAFigureError(f"‘{text}’ is not a figure.")
    return digits


def figure(typed: str) -> float:
    """The figure that was typed. Raises NotAFigureError as `as_digits` does."""
    return float(as_digits(typed))


def rows_of_figures(text: str) -> list[tuple[int, list[str]]]:
    """What stands on each line that has anything on it, with the number of the line: '850 9' is ['850', '9']."""
    return [(number, line.split()) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]


class _Typed(forms.Field):
    """Beside a number field: reads what was typed before Django does."""

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and value.strip():
            try:
                value = as_digits(value)
            except NotAFigureError as problem:
                raise ValidationError(str(problem), code="invalid") from None
        return super().to_python(value)


class FigureField(_Typed, forms.FloatField):
    """A figure in `unit`, which stands beside the box; `between` is what no sound figure lies outside of."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def __init__(self, *, unit: str = "", between: tuple[float, float] | None = None, **kwargs: Any) -> None:
        self.unit = unit
        if between is not None:
            kwargs["validators"] = [*kwargs.get("validators", ()), Between(*between, unit)]
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        """As people write it: 72 for 72.0."""
        return exactly(value) if isinstance(value, float) else value


class ExactField(_Typed, forms.DecimalField):
    """A figure that is exact to its last place, such as money."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})


def figures(column: "models.Field[Any, Any]", **kwargs: Any) -> forms.Field | None:
    """The form field of a model's column, for a form's `formfield_callback`: figures are read as everywhere."""
    if isinstance(column, models.FloatField):
        kwargs["form_class"] = FigureField
    elif isinstance(column, models.DecimalField):
        kwargs["form_class"] = ExactField
    return column.formfield(**kwargs)
