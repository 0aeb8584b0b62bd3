"""What is measured on the car as it came in."""

from typing import Any

from django import forms

from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import PRESSURE
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from jobs.inspection.models import CompressionReading, Fitness, SweepDirection


class SweepForm(FactForm):
    """One strobe reading of the old advance, vacuum pipe off."""

    rpm = FigureField(label="Speed", unit="rpm", between=(100, 10_000))
    measured_deg = FigureField(label="Strobe reads", unit="degrees", between=(-30, 80))
    direction = forms.ChoiceField(label="Speed was", choices=SweepDirection.choices, widget=forms.RadioSelect)


class MarkForm(FactForm):
    """The piston stop from both sides, and what the timing mark reads at the top so found."""

    first_deg = FigureField(label="Wheel at the stop, turning forwards", unit="degrees", between=(-360, 360))
    second_deg = FigureField(label="Wheel at the stop, turning backwards", unit="degrees", between=(-360, 360))
    mark_deg = FigureField(label="Wheel when the mark shows TDC", unit="degrees", between=(-360, 360))


class CompressionForm(MeasuringForm, FactForm):
    """One cylinder, engine warm, throttle open, all plugs out."""

    cylinder = forms.TypedChoiceField(label="Cylinder", coerce=int)
    gauge_kpa = MeasureField(
        quantity=PRESSURE,
        unit_name="entered_unit",
        choose=True,
        label="Gauge reads",
        validators=CompressionReading._meta.get_field("gauge_kpa").validators,
    )

    def __init__(self, *args: Any, cylinders: int | None, last_unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["gauge_kpa"].unit = last_unit  # type: ignore[attr-defined]
        self.fields["cylinder"].choices = [(n, str(n)) for n in range(1, (cylinders or 12) + 1)]  # type: ignore[attr-defined]


class VerdictForm(FactForm):
    """Whether the engine is fit."""

    fitness = forms.ChoiceField(label="This engine is", choices=Fitness.choices, widget=forms.RadioSelect)
    remarks = forms.CharField(
        label="Remarks", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("fitness") in (Fitness.WITH_REMARKS, Fitness.TALK_TO_OWNER) and not cleaned.get("remarks"):
            self.add_error("remarks", "Say what was found: the owner of the car will ask.")
        return cleaned
