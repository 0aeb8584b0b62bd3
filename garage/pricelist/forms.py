"""A part and its price."""

from decimal import Decimal
from typing import Any

from django import forms

from garage.people.queries import get_workshop
from garage.pricelist.models import PricedPart
from garage.quantities.typed import ExactField
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm


class PartFields(forms.ModelForm):
    """What both a new part and a known one have."""

    unit_price = ExactField(label="Unit price", max_digits=10, decimal_places=2, min_value=Decimal(0))

    low_mark = ExactField(
        label="Low at",
        max_digits=8,
        decimal_places=2,
        min_value=Decimal(0),
        required=False,
        help_text="With so many left or fewer, Today says to buy more. Leave empty for never.",
    )

    class Meta:
        model = PricedPart
        fields = ["name", "part_number", "unit_price", "counted", "low_mark"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit_price"].unit = f"{get_workshop().currency} before VAT"  # type: ignore[attr-defined]


class NewPartForm(IdempotentForm, PartFields):
    """A part for the first time."""


class PartForm(RowVersionForm, PartFields):
    """A known part, which may leave the list."""

    class Meta(PartFields.Meta):
        fields = ["name", "part_number", "unit_price", "counted", "low_mark", "offered"]
