"""A car and its parts on one page. Everything technical may stay empty; what depends on it says what is missing."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Q

from garage.customers.models import Customer
from garage.customers.queries import customers_named, is_named
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.limits import Between
from garage.quantities.measure import VACUUM
from garage.quantities.typed import FigureField, NotAFigureError, figure, figures
from garage.quantities.words import bare
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from garage.vehicles.firing_order import firing_order, names_each_once
from garage.vehicles.models import CYLINDER_COUNTS, Coil, Distributor, Engine, Vehicle
from timing.distributor import factory_band
from timing.errors import TimingError

_KEY = re.compile(r"[0-9]{1,15}")
UNKNOWN = [("", "not known"), (True, "yes"), (False, "no")]


def known_or_not(label: str) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label=label,
        choices=UNKNOWN,
        coerce=lambda text: {"True": True, "False": False}.get(text),
        empty_value=None,
        required=False,
    )


class VehicleFields(forms.ModelForm):
    """The car itself. Its customer is typed by name or phone, and chosen where several are called so."""

    MOST_CHOICES = 10

    customer = forms.ModelChoiceField(
        Customer.objects.none(), required=False, widget=forms.HiddenInput, empty_label=None
    )
    customer_named = forms.CharField(
        label="Customer", max_length=120, required=False, help_text="Name or phone of a customer in the book."
    )
    field_order = ["customer", "customer_named"]

    class Meta:
        model = Vehicle
        fields = [
            "customer",
            "registration",
            "maker",
            "model",
            "year",
            "chassis_number",
            "earth_polarity",
            "system_volts",
            "charging",
            "tachometer",
            "notes",
        ]
        widgets = {"notes": forms.Textarea(attrs={"rows": 3})}
        help_texts = {"earth_polarity": "Which battery post goes to the body? Measure it."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["customer"].queryset = Customer.objects.filter(  # type: ignore[attr-defined]
            Q(forgotten_at=None) | Q(pk=self.instance.customer_id)
        )
        if customer := self._customer_of_before():
            self.initial["customer"], self.initial["customer_named"] = customer.pk, customer.name
        for name in ("earth_polarity", "system_volts", "charging", "tachometer"):
            field = self.fields[name]
            field.choices = [("", "not known"), *[choice for choice in field.choices if choice[0] != ""]]  # type: ignore[attr-defined]

    def _customer_of_before(self) -> Customer | None:
        """Whose car it is, or from whose page one came here."""
        if self.instance.customer_id:
            return self.instance.customer
        named = str(self.initial.get("customer") or "")
        return Customer.objects.filter(forgotten_at=None, pk=int(named)).first() if _KEY.fullmatch(named) else None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        typed, chosen = cleaned.get("customer_named", ""), cleaned.get("customer")
        if chosen is None or (typed and not is_named(chosen, typed)):
            cleaned["customer"] = self._customer_typed(typed)
        return cleaned

    def _customer_typed(self, typed: str) -> Customer | None:
        """The one customer who is called so; of several, the person chooses on the page that comes back."""
        found = customers_named(typed, most=self.MOST_CHOICES + 1)
        if len(found) == 1:
            return found[0]
        if not found:
            self.add_error("customer_named", "No customer is called so." if typed else "Enter the customer.")
        elif len(found) > self.MOST_CHOICES:
            self.add_error("customer_named", "Many customers are called so. Type more of it.")
        else:
            choice = self.fields["customer"]
            choice.label, choice.widget = "Which customer", forms.RadioSelect()
            choice.widget.choices = [(one.pk, " · ".join(filter(None, [one.name, one.phone]))) for one in found]
            self.add_error("customer", "Several customers are called so. Choose one.")
        return None

    def clean_registration(self) -> str:
        return " ".join(self.cleaned_data["registration"].upper().split())


class NewVehicleForm(IdempotentForm, VehicleFields):
    """A car for the first time."""


class VehicleForm(RowVersionForm, VehicleFields):
    """A known car."""


class RatioField(FigureField):
    """A compression ratio: ‘8.5’, and ‘8.5:1’ as books print it."""

    def to_python(self, value: Any) -> Any:
        return super().to_python(re.sub(r"\s*:\s*1\s*$", "", value) if isinstance(value, str) else value)


class FiringOrderField(forms.CharField):
    """A firing order as people write it: 1-3-4-2, 1,3,4,2, 1 3 4 2, and 1342 where every cylinder is one digit."""

    def to_python(self, value: Any) -> str:
        return firing_order(super().to_python(value) or "")


class EngineForm(forms.ModelForm):
    """The engine."""

    compression_ratio = RatioField(
        label="Compression ratio", required=False, validators=Engine._meta.get_field("compression_ratio").validators
    )
    firing_order = FiringOrderField(
        label="Firing order",
        required=False,
        max_length=40,
        validators=Engine._meta.get_field("firing_order").validators,
        help_text="Such as 1-3-4-2.",
    )
    cap_terminals_even = known_or_not("Cap terminals evenly spaced")

    class Meta:
        model = Engine
        formfield_callback = figures
        fields = [
            "number",
            "family",
            "cylinders",
            "strokes",
            "bore_mm",
            "stroke_mm",
            "rod_mm",
            "compression_ratio",
            "firing_order",
            "fuel_ron",
            "idle_rpm",
            "red_line_rpm",
            "pulley_diameter_mm",
            "cap_terminals_even",
            "boosted",
        ]
        help_texts = {
            "family": "Finds similar engines.",
            "fuel_ron": "Fuel the customer uses.",
            "pulley_diameter_mm": "Where the timing tape goes.",
        }

    UNITS = {
        "bore_mm": "mm",
        "stroke_mm": "mm",
        "rod_mm": "mm",
        "idle_rpm": "rpm",
        "red_line_rpm": "rpm",
        "pulley_diameter_mm": "mm",
        "compression_ratio": ": 1",
        "fuel_ron": "RON",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        name_units(self, self.UNITS)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        order, count = cleaned.get("firing_order"), cleaned.get("cylinders")
        if order and count and not names_each_once(order, count):
            self.add_error("firing_order", f"Name each of the {count} cylinders once.")
        if order and not count and "cylinders" not in self.errors:
            cleaned["cylinders"] = self._count_in(order)
        return cleaned

    def _count_in(self, order: str) -> int | None:
        """How many cylinders a firing order names; nobody has to say it twice."""
        count = len(order.split("-"))
        if count not in CYLINDER_COUNTS or not names_each_once(order, count):
            self.add_error("firing_order", "Name each cylinder once.")
            return None
        return count


# In distributor rpm and distributor degrees: sanity, as for every figure that enters the book.
BAND_RPM = Between(0, 8000, "distributor rpm")
BAND_DEGREES = Between(-10, 40, "distributor degrees")


class BandField(forms.CharField):
    """The factory's advance data: a row a line, distributor rpm, lowest and highest distributor degrees."""

    widget = forms.Textarea(attrs={"rows": 6, "placeholder": "400 0 0.5\n600 1 3\n900 5 7", "inputmode": "text"})

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, list):
            return "\n".join(" ".join(bare(float(figure)) for figure in row) for row in value)
        return value

    def to_python(self, value: Any) -> list[list[float]]:  # type: ignore[override]
        rows = []
        for number, line in enumerate(str(value or "").splitlines(), start=1):
            if not line.strip():
                continue
            parts = [part for part in re.split(r"[\s;:]+|\bto\b|(?<=\d)-(?=\d)", line.strip()) if part]
            try:
                row = [figure(part) for part in parts]
            except NotAFigureError:
                row = []
            if len(row) != 3:
                raise ValidationError(
                    f"Row {number}, '{line.strip()}': enter distributor rpm, lowest and highest distributor degrees."
                )
            try:
                BAND_RPM(row[0])
                for degrees in row[1:]:
                    BAND_DEGREES(degrees)
            except ValidationError as problem:
                raise ValidationError(f"Row {number}, '{line.strip()}': {problem.message}") from problem
            rows.append(row)
        if rows:
            try:
                factory_band(rows)
            except TimingError as problem:
                raise ValidationError(f"{str(problem).rstrip('.')}.") from problem
        return rows


# The pressures of the capsule, and the units they were written in.
CAPSULE = {"capsule_start_kpa": "capsule_start_unit", "capsule_full_kpa": "capsule_full_unit"}


class DistributorForm(MeasuringForm, forms.ModelForm):
    """The distributor; capsule vacuum in the unit it was written in, and what is new in the person's own."""

    factory_band = BandField(
        label="Factory advance band",
        required=False,
        help_text="One row per line: distributor rpm, lowest, highest distributor degrees. Base timing is not "
        "included.",
    )
    has_rotor = known_or_not("Rotor and cap fitted")
    plate_moves = known_or_not("Plate or pick-up can be moved")

    class Meta:
        model = Distributor
        formfield_callback = figures
        fields = [
            "number",
            "rotation",
            "trigger",
            "trigger_place",
            "base_timing_deg",
            "factory_band",
            "capsule_start_kpa",
            "capsule_full_kpa",
            "capsule_full_deg",
            "dwell_deg",
            "rotor_tip_width_mm",
            "rotor_tip_radius_mm",
            "post_width_mm",
            "rotor_gap_mm",
            "has_rotor",
            "cap_posts",
            "plate_moves",
            "rim_diameter_mm",
        ]
        help_texts = {
            "trigger_place": "Of the unit’s trigger. With a sensor on the crank the distributor only shares out.",
            "cap_posts": "Only where they are not as many as the cylinders.",
            "rim_diameter_mm": "Of the distributor’s body, where marks are made and measured.",
        }

    UNITS = {
        "base_timing_deg": "° crank BTDC",
        "capsule_full_deg": "° distributor",
        "dwell_deg": "° distributor",
        "rotor_tip_width_mm": "mm",
        "rotor_tip_radius_mm": "mm",
        "post_width_mm": "mm",
        "rotor_gap_mm": "mm",
        "rim_diameter_mm": "mm",
    }

    def __init__(self, *args: Any, vacuum_unit: str = "kPa", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in (
            ("capsule_start_kpa", "Vacuum capsule starts at"),
            ("capsule_full_kpa", "Vacuum capsule full at"),
        ):
            validators = Distributor._meta.get_field(name).validators  # type: ignore[union-attr]
            kept_in = getattr(self.instance, CAPSULE[name])
            self.fields[name] = MeasureField(
                quantity=VACUUM, unit=kept_in or vacuum_unit, label=label, required=False, validators=validators
            )
        for name in ("rotation", "trigger", "trigger_place"):
            field = self.fields[name]
            field.choices = [("", "not known"), *[choice for choice in field.choices if choice[0] != ""]]  # type: ignore[attr-defined]
        name_units(self, self.UNITS)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        start, full = cleaned.get("capsule_start_kpa"), cleaned.get("capsule_full_kpa")
        if start is not None and full is not None and start >= full:
            self.add_error("capsule_full_kpa", "Must be more than the start.")
        for name, unit_name in CAPSULE.items():
            # Who only saves the page has not read it in another unit.
            if cleaned.get(name) is not None and cleaned[name] == getattr(self.instance, name):
                cleaned[unit_name] = getattr(self.instance, unit_name)
        return cleaned


class CoilForm(forms.ModelForm):
    """The coil."""

    has_ballast = known_or_not("Ballast resistor fitted")
    has_bypass = known_or_not("By-pass while cranking")

    class Meta:
        model = Coil
        formfield_callback = figures
        fields = ["primary_ohm", "inductance_mh", "has_ballast", "ballast_ohm", "has_bypass", "heat_limit_w"]
        help_texts = {"primary_ohm": "At 20 °C.", "heat_limit_w": "From the coil data only."}

    UNITS = {"primary_ohm": "Ω", "inductance_mh": "mH", "ballast_ohm": "Ω", "heat_limit_w": "W"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        name_units(self, self.UNITS)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("ballast_ohm") is not None and cleaned.get("has_ballast") is False:
            self.add_error("ballast_ohm", "Above it says no ballast resistor.")
        if cleaned.get("has_bypass") and cleaned.get("has_ballast") is False:
            self.add_error("has_bypass", "Above it says no ballast resistor.")
        return cleaned


def name_units(form: forms.ModelForm, units: dict[str, str]) -> None:
    """Put the unit beside the entry: the look shows it."""
    for name, unit in units.items():
        form.fields[name].unit = unit  # type: ignore[attr-defined]
