"""Form fields for quantities with a choosable unit: the one conversion in.

A page that asks for a figure says in which unit, and sends that unit back with the figure: what somebody changes
elsewhere in the meantime does not change what was typed. A unit written beside the figure counts before it. The unit
that was read is kept.
"""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField
from django.utils.html import format_html
from django.utils.safestring import SafeString

from garage.quantities.limits import Between
from garage.quantities.measure import Measure, Quantity
from garage.quantities.typed import NotAFigureError, figure
from garage.quantities.words import bare
from timing.errors import TimingError

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
# One run of blanks and no second one behind it: two that may share them take the square of their number to refuse.
FIGURE_AND_UNIT = re.compile(r"([+\-−]?[0-9.,]+)\s*([A-Za-z\"]*)")

NO_UNIT = "The page arrived incomplete. Reload it, or write the unit beside the figure."


def carried_name(name: str) -> str:
    """Under which name a page sends the unit back in which it asked for the field `name`."""
    return f"{name}_unit"


class InAUnit:
    """Beside a form field: the unit that its page asks in, taken from the page where the form comes back filled in.

    `carried_as` names a hidden field of the form that several figures share; without it each carries its own.
    """

    quantity: Quantity
    unit: str
    carried_as: str = ""
    unit_is_missing = False

    def take_unit_of(self, form: forms.BaseForm, name: str) -> None:
        if not form.is_bound:
            return
        carried = form.data.get(form.add_prefix(self.carried_as or carried_name(name)), "")
        self.unit_is_missing = carried not in self.quantity.units
        if not self.unit_is_missing:
            self.unit = carried


class MeasureInput(forms.TextInput):
    """A box for the figure, and the unit it is filled in: hidden, or to choose."""

    def __init__(self, attrs: dict[str, Any] | None = None, *, carries: bool, choices: tuple[str, ...]) -> None:
        super().__init__({"inputmode": "decimal", "autocomplete": "off", **(attrs or {})})
        self.carries, self.choices = carries, choices
        self.unit = ""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        box = super().render(name, value, attrs, renderer)
        if not self.carries:
            return box
        if not self.choices:
            hidden = '{}<input type="hidden" name="{}" value="{}">'
            return format_html(hidden, box, carried_name(name), self.unit)
        select = forms.Select(attrs={"aria-label": "Unit"}, choices=[(unit, unit) for unit in self.choices])
        return format_html("{}{}", box, select.render(carried_name(name), self.unit, renderer=renderer))


class MeasureField(InAUnit, forms.FloatField):
    """A figure of `quantity`, asked for and shown in `unit`. Clean in the canonical unit.

    The unit that was read is put into `cleaned_data` by `MeasuringForm`, as `unit_name`.

    Parameters
    ----------
    quantity : Quantity
    unit : str
        The unit the page asks in; the canonical one if none is named.
    unit_name : str
        What the unit read is called among the cleaned data: 'vacuum_unit' for a field 'vacuum_kpa' if not named.
    choose : bool
        Whether the unit is chosen beside the box.
    carried_as : str
        The hidden field that carries the unit of several figures, if the form has one.
    """

    widget: Any = MeasureInput

    def __init__(
        self,
        *,
        quantity: Quantity,
        unit: str = "",
        unit_name: str = "",
        choose: bool = False,
        carried_as: str = "",
        **kwargs: Any,
    ) -> None:
        self.quantity, self.unit_name, self.carried_as = quantity, unit_name, carried_as
        choices = quantity.units if choose and len(quantity.units) > 1 else ()
        kwargs.setdefault("widget", MeasureInput(carries=not carried_as, choices=choices))
        super().__init__(**kwargs)
        self.chooses_unit = bool(choices)
        self.unit = unit or quantity.canonical
        self.unit_read = self.unit
        self.shown: float | None = None

    @property
    def unit(self) -> str:
        return str(self.widget.unit)

    @unit.setter
    def unit(self, unit: str) -> None:
        self.widget.unit = unit

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        if not isinstance(form, MeasuringForm):
            raise TypeError(f"{type(form).__name__} asks for a measure, and is no MeasuringForm that keeps its unit")
        self.unit_name = self.unit_name or f"{field_name.removesuffix(f'_{self.quantity.canonical.lower()}')}_unit"
        self.take_unit_of(form, field_name)
        bound = super().get_bound_field(form, field_name)
        self.shown = bound.initial if isinstance(bound.initial, int | float) else None
        return bound

    def to_python(self, value: Any) -> float | None:  # type: ignore[override]
        if value in self.empty_values:
            return None
        found = FIGURE_AND_UNIT.fullmatch(str(value).strip())
        if not found:
            raise ValidationError(f"Enter a figure in {self.unit}.", code="invalid")
        digits, spelling = found.groups()
        if not spelling and self.unit_is_missing:
            raise ValidationError(NO_UNIT, code="invalid")
        self.unit_read = SPELLINGS.get(spelling.lower(), spelling) if spelling else self.unit
        # What was only shown and not touched keeps the exact figure it was shown for.
        if self.shown is not None and str(value) == self.prepare_value(self.shown):
            return self.shown
        try:
            return Measure.read(figure(digits), self.unit_read, self.quantity).value
        except (NotAFigureError, TimingError, ValueError) as problem:
            raise ValidationError(str(problem), code="invalid") from problem

    def run_validators(self, value: Any) -> None:
        """Limits are said in the unit that was read."""
        if value in self.empty_values:
            return
        refusals = []
        for validator in self.validators:
            try:
                validator(value)
            except ValidationError as refusal:
                said = self._in_unit_read(validator) if isinstance(validator, Between) else None
                refusals.append(ValidationError(said, code=refusal.code) if said else refusal)
        if refusals:
            raise ValidationError(refusals)

    def _in_unit_read(self, limit: Between) -> str:
        places = self.quantity.decimals_in(self.unit_read, 0)
        low = self.quantity.lowest_text(limit.low, self.unit_read, places)
        high = self.quantity.highest_text(limit.high, self.unit_read, places)
        return f"Must be between {plain_limit(low)} and {plain_limit(high)} {self.unit_read}."

    def prepare_value(self, value: Any) -> Any:
        """A canonical figure as the person wrote it; what was typed and refused comes back as it was typed."""
        if isinstance(value, int | float):
            return bare(self.quantity.in_unit(float(value), self.unit))
        return value


def plain_limit(text: str) -> str:
    """'29' for '29.0': a limit in a sentence needs no noughts."""
    return text.rstrip("0").rstrip(".") if "." in text else text


class MeasuringForm(forms.Form):
    """Puts the unit that each measure was read in beside it into `cleaned_data`; blank where nothing was typed."""

    def _clean_fields(self) -> None:
        super()._clean_fields()  # type: ignore[misc]
        for name, field in self.fields.items():
            if isinstance(field, MeasureField) and name in self.cleaned_data:
                read = self.cleaned_data[name] is not None
                self.cleaned_data[field.unit_name] = field.unit_read if read else ""
