"""Beginning a run, and a note taken by the passenger."""

from typing import Any

from django import forms

from garage.people.models import Staff
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import VACUUM
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from garage.record.idempotency import IdempotentForm
from jobs.roadtest.models import NoteKind, RoadNote, Severity


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

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = Staff.objects.filter(is_active=True)
        self.fields["driver"].queryset = self.fields["writer"].queryset = people  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("driver") and cleaned.get("driver") == cleaned.get("writer"):
            self.add_error("writer", "The driver only drives. Take a note-taker along, or choose nobody.")
        return cleaned


class NoteForm(MeasuringForm, FactForm):
    """What was heard or felt, how strongly, and where on the map."""

    kind = forms.ChoiceField(label="What", choices=NoteKind.choices, widget=forms.RadioSelect)
    severity = forms.TypedChoiceField(
        label="How strong", choices=Severity.choices, coerce=int, widget=forms.RadioSelect, initial=Severity.CLEAR
    )
    rpm = FigureField(label="Speed", unit="rpm", between=(0, 10_000), required=False)
    words = forms.CharField(label="In words", required=False, max_length=500)

    field_order = ["id", "kind", "severity", "rpm", "vacuum_kpa", "words"]

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
        if cleaned.get("kind") == NoteKind.PINKING and cleaned.get("rpm") is None and "rpm" not in self.errors:
            self.add_error("rpm", "Enter the speed at which it pinked.")
        return cleaned


class EndForm(forms.Form):
    """The run is over."""

    summary = forms.CharField(
        label="How it drove", max_length=2000, widget=forms.Textarea(attrs={"rows": 3}), required=True
    )
