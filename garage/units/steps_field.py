"""One form field for what an entry can be set to: from, to, in steps of."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from garage.quantities.limits import Between
from garage.quantities.typed import FigureField
from garage.quantities.words import bare, plain
from timing.errors import TimingError
from timing.unit import Steps

PARTS = ("low", "high", "step")


class StepsWidget(forms.MultiWidget):
    """Three boxes, each with a word of its own beside it."""

    use_fieldset = True

    def __init__(self, unit: str = "") -> None:
        self.unit = unit
        super().__init__({part: forms.TextInput() for part in PARTS})

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        return render_to_string("garage/units/_steps.html", {**self.get_context(name, value, attrs), "unit": self.unit})

    def decompress(self, value: Any) -> list[str | None]:
        if isinstance(value, Steps):
            return [bare(figure) for figure in (value.low, value.high, value.step)]
        return [None, None, None]


class StepsField(forms.MultiValueField):
    """Cleans to `timing.unit.Steps`, or to None where all three boxes are empty and the entry is not needed.

    `within` is what no entry of a unit lies outside of.
    """

    def __init__(self, *, unit: str = "", within: Between | None = None, **kwargs: Any) -> None:
        self.unit, self.within = unit, within
        boxes = [FigureField(required=False) for _ in PARTS]
        super().__init__(fields=boxes, widget=StepsWidget(unit), require_all_fields=False, **kwargs)

    def compress(self, data_list: Sequence[float | None]) -> Steps | None:
        if not data_list or all(part is None for part in data_list):
            return None
        low, high, step = data_list
        if low is None or high is None or step is None:
            raise ValidationError("Fill in all three: from, to, step.", code="incomplete")
        if self.within is not None:
            self.within(low)
            self.within(high)
        if low < high < low + step:
            raise ValidationError(f"A step of {plain(step)} does not fit between {plain(low)} and {plain(high)}.")
        try:
            return Steps(low, high, step)
        except TimingError as problem:
            raise ValidationError(f"{str(problem)[0].upper()}{str(problem)[1:]}.", code="steps") from problem
