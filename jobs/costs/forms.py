"""A line of hours or of a part."""

from decimal import Decimal
from typing import Any

from django import forms

from garage.pricelist.models import PricedPart
from garage.quantities.typed import ExactField
from garage.record.forms import FactForm
from jobs.costs.models import CostKind

# Sanity only: more than that on one car is more than one line.
MOST_HOURS = 100
TOO_MANY_HOURS = f"At most {MOST_HOURS} hours per line."
NO_RATE = "No hourly rate set. The owner sets it under Workshop."


class LineForm(FactForm):
    """What any line says: for what, and how much of it."""

    description = forms.CharField(label="For", max_length=160)
    quantity = ExactField(label="Quantity", max_digits=8, decimal_places=2, min_value=Decimal("0.01"))

    def __init__(self, *args: Any, hourly_rate: Decimal | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.hourly_rate = hourly_rate


class CostForm(LineForm):
    """Hours at the workshop's rate, or a part at its price."""

    part = forms.ModelChoiceField(
        label="From the price list",
        queryset=PricedPart.objects.filter(offered=True),
        required=False,
        empty_label="none",
    )
    kind = forms.ChoiceField(label="What", choices=CostKind.choices, widget=forms.RadioSelect, initial=CostKind.HOURS)
    unit_price = ExactField(
        label="Unit price",
        max_digits=10,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        help_text="Leave empty for the hourly rate, or the price on the list.",
    )
    field_order = ("part", "kind", "description", "quantity", "unit_price")

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit_price"].unit = currency  # type: ignore[attr-defined]
        if not PricedPart.objects.filter(offered=True).exists():
            del self.fields["part"]
            return
        self.fields["description"].required = False
        self.fields["description"].help_text = "Leave empty for the name on the list."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        part = cleaned.get("part")
        if part is not None:
            cleaned["kind"] = CostKind.PART
            cleaned["description"] = cleaned.get("description") or str(part)[:160]
            if cleaned.get("unit_price") is None and "unit_price" not in self.errors:
                cleaned["unit_price"] = part.unit_price
        if not cleaned.get("description") and "description" not in self.errors:
            self.add_error("description", "Enter what it is for.")
        hours = cleaned.get("kind") == CostKind.HOURS
        if hours and cleaned.get("quantity", 0) > MOST_HOURS:
            self.add_error("quantity", TOO_MANY_HOURS)
        if cleaned.get("unit_price") is None and "unit_price" not in self.errors:
            if hours and self.hourly_rate is not None:
                cleaned["unit_price"] = self.hourly_rate
            else:
                self.add_error("unit_price", f"Enter the price per hour. {NO_RATE}" if hours else "Enter the price.")
        return cleaned


class HoursForm(LineForm):
    """A mechanic's own hours on the car; what an hour costs is not theirs to say."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        hours = self.fields["quantity"]
        hours.label, hours.unit = "Hours", "h"  # type: ignore[attr-defined]

    def clean_quantity(self) -> Decimal:
        hours: Decimal = self.cleaned_data["quantity"]
        if hours > MOST_HOURS:
            raise forms.ValidationError(TOO_MANY_HOURS)
        return hours

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if self.hourly_rate is None:
            raise forms.ValidationError(NO_RATE)
        return {**cleaned, "kind": CostKind.HOURS, "unit_price": self.hourly_rate}


class CorrectedHoursForm(FactForm):
    """Other hours, and why."""

    hours = ExactField(label="Hours", max_digits=5, decimal_places=2, min_value=Decimal("0.01"), max_value=MOST_HOURS)
    reason = forms.CharField(label="Reason", max_length=160)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hours"].unit = "h"  # type: ignore[attr-defined]


class MomentField(forms.DateTimeField):
    """Day and time by the workshop's clock. An hour that the clock skips or repeats is no moment, or two."""

    def to_python(self, value: Any) -> Any:
        try:
            return super().to_python(value)
        except forms.ValidationError as problem:
            if problem.code != "ambiguous_timezone":
                raise
            raise forms.ValidationError("The clocks change in that hour. Enter a time before or after it.") from None


class EndForm(forms.Form):
    """When the work ended, where the timer ran on."""

    ended_at = MomentField(
        label="Stopped at", widget=forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"})
    )
