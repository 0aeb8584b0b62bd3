"""What is typed beside the running engine."""

from typing import Any

from django import forms

from garage.quantities.fields import PressureField
from garage.quantities.limits import Between
from garage.site.once import OnceForm
from jobs.card.fact_forms import FactForm
from jobs.strobe.models import StrobeReading

DECIMAL = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})


def figure(label: str, unit: str, low: float, high: float, **kwargs: Any) -> forms.FloatField:
    field = forms.FloatField(label=label, validators=[Between(low, high, unit)], widget=DECIMAL, **kwargs)
    field.unit = unit  # type: ignore[attr-defined]
    return field


class BaseSittingForm(OnceForm):
    """What the unit is told the base timing is, with the curve flat."""

    base_deg = figure("The unit is told", "° BTDC", -10, 40)


class ReadingForm(FactForm):
    """One strobe reading; the vacuum only where the pipe is on."""

    rpm = figure("Speed", "rpm", 100, 10_000)
    measured_deg = figure("Strobe reads", "° BTDC", -30, 80)

    def __init__(self, *args: Any, vacuum_unit: str | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if vacuum_unit:
            self.fields["vacuum_kpa"] = PressureField(
                label="Vacuum",
                unit=vacuum_unit,
                required=False,
                help_text="Leave empty with the pipe off.",
                validators=StrobeReading._meta.get_field("vacuum_kpa").validators,
            )


class ClampForm(FactForm):
    """After the last reading: clamped, marked, read again."""

    change_deg = figure("Change on reading again", "degrees", -20, 20)
    torque_nm = figure("Clamp torque", "Nm", 0.5, 60, required=False)
    mark_painted = forms.BooleanField(label="mark painted across body and block", required=False)
