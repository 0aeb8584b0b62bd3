"""Which engines are looked at together, with the tolerances in sight."""

from typing import Any

from django import forms
from django.http import QueryDict

from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.limits import Between
from garage.quantities.measure import VACUUM
from garage.quantities.typed import FigureField
from garage.quantities.words import bare
from garage.vehicles.models import CYLINDER_COUNTS, Strokes
from jobs.likeness.like import Likeness, Tolerances

CRUISE_KPA = 40.0  # of an ordinary cruise (common practice, no source)
USUAL = Tolerances()
USUAL_TYPED = {
    "displacement_percent": bare(USUAL.displacement_percent),
    "compression_within": bare(USUAL.compression),
    "fuel_within": bare(USUAL.fuel_ron),
}


class LikenessForm(MeasuringForm):
    """Everything may stay empty: what is empty is not asked."""

    family = forms.CharField(label="Engine family", required=False, max_length=60)
    cylinders = forms.TypedChoiceField(
        label="Cylinders",
        required=False,
        coerce=int,
        empty_value=None,
        choices=[("", "any"), *((count, count) for count in CYLINDER_COUNTS)],
    )
    displacement_cc = FigureField(label="Displacement", unit="cc", between=(20, 20_000), required=False)
    displacement_percent = FigureField(label="Displacement within", unit="%", between=(0, 100), required=False)
    compression = FigureField(label="Compression", unit="to 1", between=(4, 20), required=False)
    compression_within = FigureField(label="Compression within", between=(0, 10), required=False)
    fuel_ron = FigureField(label="Fuel", unit="RON", between=(60, 115), required=False)
    fuel_within = FigureField(label="Fuel within", unit="RON", between=(0, 50), required=False)

    strokes = forms.TypedChoiceField(
        label="Two- or four-stroke",
        required=False,
        coerce=int,
        empty_value=None,
        choices=[("", "any"), *Strokes.choices],
    )
    boosted = forms.ChoiceField(
        label="Supercharged or turbocharged", required=False, choices=[("", "any"), ("no", "no"), ("yes", "yes")]
    )

    def __init__(self, data: QueryDict | None = None, *, vacuum_unit: str, **kwargs: Any) -> None:
        # A tolerance that an address does not name is the usual one, and stands in its box.
        filled = {**USUAL_TYPED, **data.dict()} if data else None
        super().__init__(filled, initial=USUAL_TYPED, **kwargs)
        self.fields["vacuum_kpa"] = MeasureField(
            quantity=VACUUM,
            label="Vacuum",
            unit=vacuum_unit,
            required=False,
            validators=[Between(0, 95, "kPa")],
            help_text="At which the advance with vacuum is shown.",
        )

    def likeness(self) -> Likeness:
        """What was asked for. Of a form that is not filled in or is refused: everything."""
        asked = self.cleaned_data if self.is_bound and self.is_valid() else {}

        def given(name: str, usual: float) -> float:
            value = asked.get(name)
            return usual if value is None else float(value)

        return Likeness(
            family=(asked.get("family") or "").strip(),
            cylinders=asked.get("cylinders"),
            strokes=asked.get("strokes"),
            displacement_cc=asked.get("displacement_cc"),
            compression=asked.get("compression"),
            fuel_ron=asked.get("fuel_ron"),
            boosted={"yes": True, "no": False}.get(asked.get("boosted", "")),
            tolerances=Tolerances(
                displacement_percent=given("displacement_percent", USUAL.displacement_percent),
                compression=given("compression_within", USUAL.compression),
                fuel_ron=given("fuel_within", USUAL.fuel_ron),
            ),
        )

    def vacuum(self) -> float:
        """The vacuum at which the advance is shown. [kPa below atmosphere]"""
        value = self.cleaned_data.get("vacuum_kpa") if self.is_bound and self.is_valid() else None
        return CRUISE_KPA if value is None else float(value)
