"""The second person's words."""

from django import forms

from garage.record.forms import FactForm


class SignOffForm(FactForm):
    """What the second person looked at and found."""

    looked = forms.BooleanField(label="I have checked the timing, wiring and read-back of this car myself.")
    remarks = forms.CharField(
        label="Remarks", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )
