"""The second person's words."""

from django import forms

from garage.record.forms import FactForm


class SignOffForm(FactForm):
    """What the second person looked at and found."""

    looked = forms.BooleanField(
        label="I have looked at the timing, the wiring and the read-back of this car myself, and found them right."
    )
    remarks = forms.CharField(
        label="Remarks", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )
