"""Starting, releasing, reading back and keeping map versions."""

from collections.abc import Sequence
from typing import Any
from uuid import uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.utils.text import capfirst

from garage.people.models import VacuumUnit
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import VACUUM
from garage.quantities.typed import FigureField, NotAFigureError, figure
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from garage.units.models import UnitTypeRevision
from jobs.maps.map_form import SettingField
from jobs.maps.models import CurvePattern, MapVersion
from jobs.maps.paste import PasteError, pasted
from jobs.maps.unit_limits import beyond_pressure
from timing.errors import TimingError
from timing.unit import KeyInLine, UnitType
from timing.vacuum import VacuumRamp

MOST_REASON = 300  # characters
RAMP = ("vacuum_start_kpa", "vacuum_full_kpa", "vacuum_full_deg")
REASON = forms.Textarea(attrs={"rows": 2})


FIRST_MAP = "First map of this car"


class StartForm(MeasuringForm, IdempotentForm):
    """The first version of a map: from where, with which base timing and vacuum advance, and why."""

    start = forms.ChoiceField(label="Start from", widget=forms.RadioSelect)
    points = forms.CharField(
        label="Or type the curve",
        required=False,
        max_length=2000,
        help_text="Speed and degrees from base, one point a line: 1500 6.",
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false", "inputmode": "text"}),
    )
    base_deg = SettingField(unit="°", label="Base timing", help_text="Crank degrees before top dead centre.")
    vacuum_start_kpa = MeasureField(quantity=VACUUM, required=False, label="Starts at")
    vacuum_full_kpa = MeasureField(quantity=VACUUM, required=False, label="Full at")
    vacuum_full_deg = SettingField(unit="°", required=False, label="Maximum vacuum advance")
    reason = forms.CharField(max_length=MOST_REASON, label="Purpose of this version", widget=REASON, initial=FIRST_MAP)

    def __init__(
        self, *args: Any, choices: Sequence[tuple[str, str]], unit: UnitType, vacuum_unit: str, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.unit = unit
        self.fields["start"].choices = choices  # type: ignore[attr-defined]
        for name in ("base_deg", *RAMP):
            self.fields[name].validators += MapVersion._meta.get_field(name).validators  # type: ignore[union-attr]
        for name in ("vacuum_start_kpa", "vacuum_full_kpa"):
            self.fields[name].unit = vacuum_unit  # type: ignore[attr-defined]
        if unit.vacuum is None:
            for name in RAMP:
                del self.fields[name]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        typed = {name: cleaned.get(name) for name in RAMP if name in self.fields}
        for name, value in typed.items():
            if message := beyond_pressure(name, value, self.unit):
                self.add_error(name, message)
            elif value is None and any(other is not None for other in typed.values()) and name not in self.errors:
                self.add_error(name, "Needed for a ramp.")
        if not self.errors:
            try:
                self.ramp()
            except TimingError as problem:
                self.add_error("vacuum_full_kpa", f"{capfirst(str(problem))}.")
        return cleaned

    def ramp(self) -> VacuumRamp | None:
        """The vacuum advance as typed; None where nothing was."""
        start, full, degrees = (self.cleaned_data.get(name) for name in RAMP)
        if start is None or full is None or degrees is None:
            return None
        return VacuumRamp(start=start, full=full, full_deg=degrees)

    def vacuum_read_in(self) -> dict[str, str]:
        """The unit in which the map is shown: the one that was written beside the figures."""
        unit = self.cleaned_data.get("vacuum_start_unit", "")
        return {"vacuum_unit": unit} if self.ramp() and unit in VacuumUnit.values else {}

    def clean_points(self) -> list[list[float]]:
        typed: str = self.cleaned_data["points"]
        try:
            return pasted(typed, [2]) if typed.strip() else []
        except PasteError as refusal:
            raise forms.ValidationError(str(refusal)) from None


class SearchForm(forms.Form):
    """Which other cars to look among."""

    family = forms.CharField(required=False, max_length=60, label="Engine family, make or model")
    compression = FigureField(required=False, unit="to 1", label="Compression, within 0.5")
    ron = FigureField(required=False, unit="RON", label="Fuel, within 3 RON")


class NextForm(IdempotentForm):
    """A new version that goes on from an earlier one."""

    reason = forms.CharField(max_length=MOST_REASON, label="Reason for the next version", widget=REASON)


class RefitForm(IdempotentForm):
    """The same map for another unit type."""

    revision = forms.ModelChoiceField(UnitTypeRevision.objects.none(), label="For the unit type", empty_label="choose")
    reason = forms.CharField(max_length=MOST_REASON, label="Reason", widget=REASON)

    def __init__(self, *args: Any, revisions: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["revision"].queryset = revisions  # type: ignore[attr-defined]


class ReleaseForm(RowVersionForm):
    """Release, and for the owner the reason to do so although a finding says stop."""

    over = forms.CharField(required=False, max_length=300, label="Reason to override the stop finding", widget=REASON)

    def __init__(self, *args: Any, needs_reason: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if needs_reason:
            self.fields["over"].required = True
        else:
            del self.fields["over"]


class SetAsideForm(RowVersionForm):
    """Why nobody will go on with a draft."""

    reason = forms.CharField(max_length=MOST_REASON, label="Reason", widget=REASON)


class PatternForm(IdempotentForm):
    """A name of the workshop's own for a released map."""

    name = forms.CharField(max_length=60, label="Name")
    suits = forms.CharField(max_length=300, required=False, label="Suits these engines", widget=REASON)

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"].strip()
        own = self.cleaned_data.get("idempotency_key") or uuid4()  # the same form, sent twice
        if CurvePattern.objects.filter(name__iexact=name).exclude(idempotency_key=own).exists():
            raise ValidationError("A template curve with this name exists.", code="twice")
        return name


class ReadBackForm(forms.Form):
    """What the unit shows: typed in one row, or line by line, or ticked where it shows just what the sheet says."""

    fact_id = forms.UUIDField(widget=forms.HiddenInput)
    power_cycled = forms.BooleanField(
        required=False,
        label="Ignition switched off and on after storing, then read",
        # Said anew at each reading: an old tick would prove what nobody did.
        widget=forms.CheckboxInput(attrs={"data-never-kept": ""}),
    )
    in_a_row = forms.CharField(
        required=False,
        max_length=600,
        label="What the unit shows, in one row",
        help_text="In the order of the key-in sheet, a blank between.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, lines: Sequence[KeyInLine], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = lines
        for line in lines:
            self.fields[f"shown_{line.position}"] = forms.CharField(
                required=False, max_length=20, label=f"{line.words}, shown"
            )
            self.fields[f"same_{line.position}"] = forms.BooleanField(
                required=False, label=f"{line.words} shows {line.value_text}"
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if in_a_row := (cleaned.get("in_a_row") or "").strip():
            self._spread(in_a_row, cleaned)
            if self.errors:
                return cleaned
        for line in self.lines:
            name = f"shown_{line.position}"
            typed = (cleaned.get(name) or "").strip()
            if not typed and not cleaned.get(f"same_{line.position}"):
                self.add_error(name, "Read this line too.")
            elif typed and isinstance(line.value, float):
                try:
                    figure(typed.removesuffix(line.unit).removesuffix("°") if line.unit else typed)
                except NotAFigureError as problem:
                    self.add_error(name, str(problem))
        return cleaned

    def _spread(self, in_a_row: str, cleaned: dict[str, Any]) -> None:
        """Give each line its part of the row, as though it had been typed there."""
        many = len(self.lines)
        read = [part.strip() for part in in_a_row.split(";" if ";" in in_a_row else None)]
        if len(read) != many:
            self.add_error(
                "in_a_row",
                f"{len(read)} value{'' if len(read) == 1 else 's'} for {many} lines. "
                "Type one for each; where one has a blank in it, put ; between them.",
            )
            return
        for line, shown in zip(self.lines, read, strict=True):
            name = f"shown_{line.position}"
            alone = (cleaned.get(name) or "").strip()
            if alone and alone != shown:
                self.add_error(name, f"The row says {shown}. Leave one of the two empty.")
            cleaned[name] = shown

    def shown(self) -> dict[int, str]:
        """Position and what the unit shows there; what was typed goes before a tick."""
        return {
            line.position: self.cleaned_data[f"shown_{line.position}"].strip() or line.value_text for line in self.lines
        }

    def rows(self) -> list[dict[str, Any]]:
        """The lines with their two boxes, for the template."""
        return [
            {"line": line, "shown": self[f"shown_{line.position}"], "same": self[f"same_{line.position}"]}
            for line in self.lines
        ]
