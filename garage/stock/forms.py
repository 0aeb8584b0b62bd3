"""What is typed about stock: what came in, what was counted, and from how few on somebody is told."""

from decimal import Decimal

from django import forms

from garage.quantities.typed import ExactField
from garage.record.forms import FactForm


class BoughtForm(FactForm):
    """What came in."""

    quantity = ExactField(label="Came in", max_digits=8, decimal_places=2, min_value=Decimal("0.01"))
    note = forms.CharField(label="Note", required=False, max_length=160)


class CountForm(FactForm):
    """What was counted. The reason is asked for where it differs from the book."""

    counted = ExactField(label="Counted", max_digits=8, decimal_places=2, min_value=Decimal(0))
    reason = forms.CharField(
        label="Reason", required=False, max_length=160, help_text="Needed where the count differs from the book."
    )


class LowMarkForm(forms.Form):
    """From how few units on the shelf on Today tells to buy more."""

    low_mark = forms.IntegerField(
        label="Low at", required=False, min_value=0, max_value=1000, help_text="Empty: you are not told."
    )
