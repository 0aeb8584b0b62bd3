"""What is measured on the car as it came in."""

from typing import Any

from django import forms

from garage.quantities.fields import PressureField
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from jobs.inspection.models import CompressionReading, Fitness, SweepDirection


class SweepForm(FactForm):
    """One strobe reading of the old advance, vacuum pipe off."""

    rpm = FigureField(label="Speed", unit="rpm", between=(100, 10_000))
    measured_deg = FigureField(label="Strobe reads", unit="degrees", between=(-30, 80))
    direction = forms.ChoiceField(label="Revs", choices=SweepDirection.choices, widget=forms.RadioSelect)


class MarkForm(FactForm):
    """The piston stop from both sides, and what the timing mark reads at the top so found."""

    first_deg = FigureField(label="Degree wheel at the stop, forwards", unit="degrees", between=(-360, 360))
    second_deg = FigureField(label="Degree wheel at the stop, backwards", unit="degrees", between=(-360, 360))
    mark_deg = FigureField(label="Degree wheel at the TDC mark", unit="degrees", between=(-360, 360))


class CompressionForm(FactForm):
    """One cylinder, engine warm, throttle open, all plugs out."""

    SCALES = ("kPa", "bar", "psi")

    cylinder = forms.TypedChoiceField(label="Cylinder", coerce=int)
    scale = forms.ChoiceField(label="Gauge scale", choices=[(scale, scale) for scale in SCALES])
    gauge_kpa = PressureField(label="Gauge reads")

    def __init__(self, *args: Any, cylinders: int | None, last_scale: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["scale"].initial = last_scale
        # What was typed is a figure on the scale that was chosen with it.
        chosen = self["scale"].value()
        unit = chosen if chosen in self.SCALES else last_scale
        self.fields["cylinder"].choices = [(n, str(n)) for n in range(1, (cylinders or 12) + 1)]  # type: ignore[attr-defined]
        validators = CompressionReading._meta.get_field("gauge_kpa").validators
        self.fields["gauge_kpa"] = PressureField(label="Gauge reads", unit=unit, validators=validators)


class VerdictForm(FactForm):
    """Whether the engine is fit."""

    fitness = forms.ChoiceField(label="This engine is", choices=Fitness.choices, widget=forms.RadioSelect)
    remarks = forms.CharField(
        label="Remarks", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("fitness") in (Fitness.WITH_REMARKS, Fitness.TALK_TO_OWNER) and not cleaned.get("remarks"):
            self.add_error("remarks", "Say what was found.")
        return cleaned
