"""What is measured on the car as it came in."""

import uuid
from collections.abc import Sequence
from typing import Any

from django import forms

from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import PRESSURE
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from garage.record.idempotency import IdempotentForm
from jobs.inspection.actions import Gauge
from jobs.inspection.failures import Failure
from jobs.inspection.models import CompressionReading, Fitness, SweepDirection

MOST_CYLINDERS = 12  # where nobody has counted them yet


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


class CompressionForm(MeasuringForm, IdempotentForm):
    """A box for each cylinder, engine warm, throttle open, all plugs out. A box that is left empty says nothing."""

    entered_unit = forms.ChoiceField(label="Gauge in", choices=[(unit, unit) for unit in PRESSURE.units])

    def __init__(self, *args: Any, cylinders: int | None, last_unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["entered_unit"] = last_unit
        self.cylinders = range(1, (cylinders or MOST_CYLINDERS) + 1)
        for cylinder in self.cylinders:
            self.fields[_box_of(cylinder)] = MeasureField(
                quantity=PRESSURE,
                unit=last_unit,
                carried_as="entered_unit",
                required=False,
                label=f"Cylinder {cylinder}",
                validators=CompressionReading._meta.get_field("gauge_kpa").validators,
            )
        self.order_fields([*(_box_of(cylinder) for cylinder in self.cylinders), "entered_unit"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and not self._read(cleaned):
            self.add_error(_box_of(1), "Enter the gauge of one cylinder or more.")
        return cleaned

    def gauges(self) -> list[Gauge]:
        """What was read, cylinder by cylinder: each with an id that follows from the form's."""
        key = self.cleaned_data["idempotency_key"]
        return [
            Gauge(
                id=uuid.uuid5(key, str(cylinder)),
                cylinder=cylinder,
                gauge_kpa=self.cleaned_data[_box_of(cylinder)],
                entered_unit=self.cleaned_data[f"{_box_of(cylinder)}_unit"],
            )
            for cylinder in self._read(self.cleaned_data)
        ]

    def _read(self, cleaned: dict[str, Any]) -> list[int]:
        return [cylinder for cylinder in self.cylinders if cleaned.get(_box_of(cylinder)) is not None]


def _box_of(cylinder: int) -> str:
    return f"cylinder_{cylinder}"


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
