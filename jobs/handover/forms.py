"""The second person's words, and what whoever works alone reads again."""

from django import forms

from garage.quantities.typed import FigureField
from garage.record.forms import FactForm


class SignOffForm(FactForm):
    """What the second person looked at and found."""

    looked = forms.BooleanField(label="I have checked the timing, wiring and read-back of this car myself.")
    remarks = forms.CharField(
        label="Remarks", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )


HELD = "Hold this speed, or type the one you held."


class OwnSignOffForm(FactForm):
    """The strobe read again, pipe off, at two speeds; and what was looked at."""

    first_rpm = FigureField(label="First speed held", unit="rpm", between=(100, 10_000), help_text=HELD)
    first_deg = FigureField(label="Strobe reads", unit="° BTDC", between=(-30, 80))
    second_rpm = FigureField(label="Second speed held", unit="rpm", between=(100, 10_000), help_text=HELD)
    second_deg = FigureField(label="Strobe reads", unit="° BTDC", between=(-30, 80))
    remarks = forms.CharField(
        label="What you looked at: clamp, mark, wiring, leads, read-back",
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    @property
    def read_again(self) -> list[tuple[float, float]]:
        typed = self.cleaned_data
        return [(typed["first_rpm"], typed["first_deg"]), (typed["second_rpm"], typed["second_deg"])]
