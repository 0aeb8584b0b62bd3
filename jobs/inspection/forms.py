"""What is measured on the car as it came in."""

from collections.abc import Sequence
from typing import Any

from django import forms

from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import PRESSURE
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from jobs.inspection.failures import Failure
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


REMARK_ON = "remark_on_"


class VerdictForm(FactForm):
    """Whether the engine is fit; a remark on each of `failures`, and how the customer was told where one stops."""

    fitness = forms.ChoiceField(label="This engine is", choices=Fitness.choices, widget=forms.RadioSelect)
    remarks = forms.CharField(
        label="Remarks", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, failures: Sequence[Failure] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.failures = failures
        for failure in failures:
            self.fields[REMARK_ON + failure.key] = forms.CharField(
                label=failure.text,
                required=False,
                max_length=300,
                help_text="What follows from it." if not failure.stops else "The owner decides: why go on?",
            )
        if any(failure.stops for failure in failures):
            self.fields["customer_told"] = forms.CharField(
                label="Customer told", required=False, max_length=300, help_text="How and when; it goes on their sheet."
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        fitness = cleaned.get("fitness")
        needs_words = fitness == Fitness.TALK_TO_OWNER or (fitness == Fitness.WITH_REMARKS and not self.failures)
        if needs_words and not cleaned.get("remarks"):
            self.add_error("remarks", "Say what was found.")
        if fitness == Fitness.WITH_REMARKS:
            for failure in self.failures:
                if not cleaned.get(REMARK_ON + failure.key):
                    self.add_error(REMARK_ON + failure.key, "Add a remark on this.")
            if "customer_told" in self.fields and not cleaned.get("customer_told"):
                self.add_error("customer_told", "Say how and when the customer was told.")
        return cleaned

    def values(self) -> dict[str, Any]:
        """What was typed, the remarks gathered by the failure they are about."""
        typed = super().values()
        remarks = {name.removeprefix(REMARK_ON): typed.pop(name) for name in list(typed) if name.startswith(REMARK_ON)}
        return typed | {"remark_on": remarks}
