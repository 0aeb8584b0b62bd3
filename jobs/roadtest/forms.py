"""Beginning a run, and a note taken by the passenger."""

from typing import Any

from django import forms

from garage.people.models import Staff
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import VACUUM
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from garage.record.idempotency import IdempotentForm
from jobs.roadtest.models import BeforeLeaving, Load, NoteKind, RoadNote, Severity


class RunForm(IdempotentForm):
    """A drive: where, who drives, who writes."""

    route = forms.CharField(label="Route", max_length=160, help_text="Include a hill at full load.")
    driver = forms.ModelChoiceField(label="Driver", queryset=Staff.objects.none())
    writer = forms.ModelChoiceField(
        label="Note-taker",
        queryset=Staff.objects.none(),
        required=False,
        empty_label="nobody: driver is alone",
        help_text="The driver only drives. Alone: stop, then write.",
    )
    fuel_ron = FigureField(label="Fuel in the tank", unit="RON", between=(60, 115), required=False)
    air_temperature_c = FigureField(label="Air", unit="°C", between=(-30, 50), required=False)

    looked_at = forms.MultipleChoiceField(
        label="Before leaving",
        choices=BeforeLeaving.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Look at each and tick it. A clean read-back in the record is ticked.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = Staff.objects.filter(is_active=True)
        self.fields["driver"].queryset = self.fields["writer"].queryset = people  # type: ignore[attr-defined]

    def clean_looked_at(self) -> list[str]:
        ticked: list[str] = self.cleaned_data["looked_at"]
        left = [label for value, label in BeforeLeaving.choices if value not in ticked]
        if left:
            raise forms.ValidationError(f"Still to check: {', '.join(left)}.")
        return ticked

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("driver") and cleaned.get("driver") == cleaned.get("writer"):
            self.add_error("writer", "The driver only drives. Take a note-taker along, or choose nobody.")
        return cleaned


HOW_STRONG = [(severity.value, severity.label) for severity in Severity if severity != Severity.NOT_SAID]
GEARS = [("", "not said"), *((str(gear), str(gear)) for gear in range(1, 7))]


class NoteForm(MeasuringForm, FactForm):
    """What was heard or felt, how strongly, and where on the map; what is not known yet is placed later."""

    kind = forms.ChoiceField(label="What", choices=NoteKind.choices, widget=forms.RadioSelect)
    severity = forms.TypedChoiceField(
        label="How strong",
        choices=HOW_STRONG,
        coerce=int,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
    )
    rpm = FigureField(label="Speed", unit="rpm", between=(0, 10_000), required=False)
    gear = forms.TypedChoiceField(
        label="Gear", choices=GEARS, coerce=int, empty_value=None, required=False, widget=forms.RadioSelect
    )
    load = forms.ChoiceField(
        label="Throttle", choices=[("", "not said"), *Load.choices], required=False, widget=forms.RadioSelect
    )
    words = forms.CharField(label="In words", required=False, max_length=500)

    field_order = ["id", "kind", "severity", "rpm", "vacuum_kpa", "gear", "load", "words"]

    def __init__(self, *args: Any, vacuum_unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["vacuum_kpa"] = MeasureField(
            quantity=VACUUM,
            label="Vacuum",
            unit=vacuum_unit,
            required=False,
            help_text="0 at full throttle; below 0 is boost.",
            validators=RoadNote._meta.get_field("vacuum_kpa").validators,
        )
        self.order_fields(self.field_order)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("kind") == NoteKind.PINKING and not cleaned.get("severity"):
            self.add_error("severity", "Enter how strongly it pinked.")
        cleaned["severity"] = cleaned.get("severity") or Severity.NOT_SAID
        return cleaned


class EndForm(forms.Form):
    """The run is over."""

    summary = forms.CharField(
        label="How it drove", max_length=2000, widget=forms.Textarea(attrs={"rows": 3}), required=True
    )

    def __init__(self, *args: Any, nothing_found: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.nothing_found = nothing_found
        self.fields["summary"].required = not nothing_found
