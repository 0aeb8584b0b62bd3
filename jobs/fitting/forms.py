"""The figures that the rotor page still needs: some belong to the car, some to its fitting sheet."""

import math
from typing import Any
from uuid import uuid4

from django import forms

from garage.quantities.typed import FigureField, figures
from garage.quantities.words import plain
from garage.record.row_versions import RowVersionForm
from garage.vehicles.facts import has_rotor, trigger_place
from garage.vehicles.forms import DistributorForm, known_or_not
from garage.vehicles.models import Distributor, TriggerPlace, Vehicle
from jobs.checklists.forms import UuidList
from jobs.checklists.models import ItemKind
from jobs.checklists.rotor_items import EDGE_TOLD, ENTERED_APART, IN_LINE_AT, TIP_AT_EDGE, TRIGGER_EDGE
from jobs.checklists.sheet import Line, Sheet
from jobs.fitting.actions import SheetAnswer
from timing.distributor import TriggerPlace as Place

# What the car's record says of the distributor, in the order in which it is asked for.
OF_CAR = (
    "trigger_place",
    "has_rotor",
    "rotor_tip_radius_mm",
    "rotor_tip_width_mm",
    "post_width_mm",
    "rotor_gap_mm",
    "rotation",
    "plate_moves",
    "rim_diameter_mm",
)
# Items of the sheet by the place of the trigger. A place that nobody has told is asked for first.
OF_SHEET = {
    Place.DISTRIBUTOR: (EDGE_TOLD, TRIGGER_EDGE, TIP_AT_EDGE),
    Place.CRANK_OR_CAMSHAFT: (IN_LINE_AT,),
}
# Measured again after every move: asked for though they are known.
MEASURED_AGAIN = {TIP_AT_EDGE, IN_LINE_AT}
TIP_DEGREES = "tip_degrees"
HALF_TURN = 180.0


class RotorFiguresForm(RowVersionForm):
    """What is not known of the rotor yet, and what is measured again. Nothing that is known is asked for twice."""

    id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)
    replaces = UuidList(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, vehicle: Vehicle, sheet: Sheet | None, place: Place | None, **kwargs: Any) -> None:
        # What was sent stays on the form, known by now or not: a form that is sent twice is no new one.
        sent = set(args[0] or ()) if args else set()
        lines = [line for line in _lines(sheet, place) if _is_asked_for(line) or _name(line.item.key) in sent]
        replaces = ",".join(str(head.pk) for line in lines for head in line.heads)
        kwargs["initial"] = {"row_version": vehicle.row_version, "replaces": replaces}
        super().__init__(*args, **kwargs)
        self.rim_diameter_mm = vehicle.distributor.rim_diameter_mm
        self.lines = {_name(line.item.key): line for line in lines}
        self.of_car = [name for name in OF_CAR if name in sent or _is_unknown(name, vehicle)]
        for name in self.of_car:
            self.fields[name] = _field_of_car(name, vehicle)
        for name, line in self.lines.items():
            self.fields[name] = _field_of_sheet(line)
        if _name(TIP_AT_EDGE) in self.lines:
            self.fields[TIP_DEGREES] = FigureField(
                label="or read from a degree wheel",
                required=False,
                unit="° distributor",
                between=(-HALF_TURN, HALF_TURN),
                help_text="Kept as the arc along the rim.",
            )

    @property
    def asks_for_something(self) -> bool:
        return bool(self.of_car or self.lines)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        arc, degrees = cleaned.get(_name(TIP_AT_EDGE)), cleaned.get(TIP_DEGREES)
        rim = cleaned.get("rim_diameter_mm") or self.rim_diameter_mm
        if degrees is not None and arc is not None:
            self.add_error(TIP_DEGREES, "Either the arc or the degrees.")
        elif degrees is not None and rim is None and "rim_diameter_mm" in self.fields:
            self.add_error("rim_diameter_mm", "Needed, to keep the degrees as an arc along the rim.")
        elif arc is not None and rim is not None and abs(arc) > math.pi * rim / 2.0:
            self.add_error(_name(TIP_AT_EDGE), f"That is more than half way round a rim of {rim:g} mm.")
        if not self.errors and not self.car_values() and not self.answers():
            self.add_error(None, "Write at least one figure.")
        return cleaned

    def car_values(self) -> dict[str, Any]:
        """What is to be written to the car's distributor."""
        given = {name: self.cleaned_data.get(name) for name in self.of_car}
        return {name: value for name, value in given.items() if value not in (None, "")}

    def answers(self) -> list[SheetAnswer]:
        """What is to be entered on the fitting sheet."""
        answers = []
        for name, line in self.lines.items():
            value, note = self.cleaned_data.get(name), ""
            if line.item.key == TIP_AT_EDGE and value is None:
                value, note = self._arc_of_degrees()
            if line.item.kind == ItemKind.CHOICE and value:
                answers.append(SheetAnswer(line.item.key, choice=value))
            elif line.item.kind == ItemKind.MEASURE and value is not None:
                answers.append(SheetAnswer(line.item.key, measure=value, note=note))
        return answers

    def _arc_of_degrees(self) -> tuple[float | None, str]:
        degrees = self.cleaned_data.get(TIP_DEGREES)
        rim = self.cleaned_data.get("rim_diameter_mm") or self.rim_diameter_mm
        if degrees is None or rim is None:
            return None, ""
        return math.radians(degrees) * rim / 2.0, f"read as {plain(degrees)} distributor degrees"


def _is_unknown(name: str, vehicle: Vehicle) -> bool:
    if name == "has_rotor":  # goes without saying for most engines
        return has_rotor(vehicle) is None
    if name == "plate_moves" and trigger_place(vehicle) == TriggerPlace.CRANK_OR_CAMSHAFT:
        return False  # nothing on it triggers
    return getattr(vehicle.distributor, name) in (None, "")


def _lines(sheet: Sheet | None, place: Place | None) -> list[Line]:
    """The lines of the sheet that say what sets a rotor with its trigger in this place."""
    if sheet is None or place is None:
        return []
    found = [line for key in OF_SHEET[place] if (line := sheet.line(key)) is not None]
    told = sheet.line(EDGE_TOLD)
    is_apart = told is not None and told.current is not None and told.current.choice == ENTERED_APART
    # Where the edge is base timing nobody needs its angle here.
    return [line for line in found if is_apart or line.item.key != TRIGGER_EDGE]


def _is_asked_for(line: Line) -> bool:
    return line.is_open or line.is_conflict or line.item.key in MEASURED_AGAIN


def _name(key: str) -> str:
    return key.replace("-", "_")


def _field_of_car(name: str, vehicle: Vehicle) -> forms.Field:
    column = Distributor._meta.get_field(name)
    label = str(column.verbose_name)  # type: ignore[union-attr]
    if name in ("has_rotor", "plate_moves"):
        return known_or_not(f"{label[:1].upper()}{label[1:]}")
    made = figures(column)  # type: ignore[arg-type]
    assert made is not None  # noqa: S101 - every column named here has a form field
    made.label = f"{label[:1].upper()}{label[1:]}"
    made.help_text = DistributorForm.Meta.help_texts.get(name, "")
    made.unit = DistributorForm.UNITS.get(name, "")  # type: ignore[attr-defined]
    if name == "trigger_place" and (assumed := trigger_place(vehicle)):
        # Contacts sit nowhere else; a sensor that this job fits on the crank is told here.
        kind = vehicle.distributor.get_trigger_display()
        others = [(place.value, place.label) for place in TriggerPlace if place != assumed]
        made.choices = [("", f"{assumed.label}: {kind}"), *others]  # type: ignore[attr-defined]
    return made


def _field_of_sheet(line: Line) -> forms.Field:
    item = line.item
    if item.kind == ItemKind.CHOICE:
        return forms.ChoiceField(
            label=item.text, required=False, choices=[("", "not known"), *((one, one) for one in item.choices)]
        )
    return FigureField(label=item.text, required=False, unit=item.unit, help_text=item.help)
