"""A line of hours or of a part."""

from decimal import Decimal
from typing import Any

from django import forms

from jobs.card.fact_forms import FactForm
from jobs.costs.models import CostKind

DECIMAL = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})


class CostForm(FactForm):
    """Hours at the workshop's rate, or a part at its price."""

    kind = forms.ChoiceField(label="What", choices=CostKind.choices, widget=forms.RadioSelect, initial=CostKind.HOURS)
    description = forms.CharField(label="For", max_length=160)
    quantity = forms.DecimalField(
        label="How many", max_digits=8, decimal_places=2, min_value=Decimal("0.01"), widget=DECIMAL
    )
    unit_price = forms.DecimalField(
        label="Price of one",
        max_digits=10,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        widget=DECIMAL,
        help_text="Empty for hours: the workshop's hourly rate.",
    )

    def __init__(self, *args: Any, hourly_rate: Decimal | None, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.hourly_rate = hourly_rate
        self.fields["unit_price"].unit = currency  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("unit_price") is None and "unit_price" not in self.errors:
            if cleaned.get("kind") == CostKind.HOURS and self.hourly_rate is not None:
                cleaned["unit_price"] = self.hourly_rate
            else:
                self.add_error("unit_price", "Write the price: no hourly rate is set for it.")
        return cleaned
