"""What is typed beside the running engine."""

from typing import Any

from django import forms

from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import VACUUM
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from garage.record.idempotency import IdempotentForm
from jobs.checklists.forms import PhotographField
from jobs.checklists.photographs import Picture
from jobs.strobe.models import Lamp, StrobeReading


class BeginForm(IdempotentForm):
    """What a session begins with: which strobe it is read with, if somebody says so."""

    lamp = forms.ChoiceField(label="Strobe", choices=[("", "not recorded"), *Lamp.choices], required=False)


class BaseSittingForm(BeginForm):
    """What the unit is told the base timing is, with the curve flat."""

    base_deg = FigureField(label="Base timing set in the unit", unit="° BTDC", between=(-10, 40))


class ReadingForm(MeasuringForm, FactForm):
    """One strobe reading; the vacuum only where the pipe is on."""

    rpm = FigureField(label="Speed", unit="rpm", between=(100, 10_000))
    measured_deg = FigureField(label="Strobe reads", unit="° BTDC", between=(-30, 80))

    def __init__(self, *args: Any, vacuum_unit: str | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if vacuum_unit:
            self.fields["vacuum_kpa"] = MeasureField(
                quantity=VACUUM,
                label="Vacuum",
                unit=vacuum_unit,
                required=False,
                help_text="Leave empty if the pipe is off.",
                validators=StrobeReading._meta.get_field("vacuum_kpa").validators,
            )


class ClampForm(FactForm):
    """After the last reading: clamped, marked, read again."""

    change_deg = FigureField(label="Shift after clamping", unit="degrees", between=(-20, 20))
    torque_nm = FigureField(label="Clamp torque", unit="Nm", between=(0.5, 60), required=False)
    mark_painted = forms.BooleanField(label="Mark painted across body and block", required=False)
    photograph = PhotographField(required=False, label="Photograph of clamp and mark")

    def __init__(self, *args: Any, with_photograph: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not with_photograph:
            del self.fields["photograph"]

    def values(self) -> dict[str, Any]:
        """The figures; the photograph belongs to the fitting sheet."""
        return {name: value for name, value in super().values().items() if name != "photograph"}

    @property
    def picture(self) -> Picture | None:
        return self.cleaned_data.get("photograph")
