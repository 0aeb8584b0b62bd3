"""The form of a draft: every figure of a map, refused cell by cell, against the trade's limits and the unit's."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from django import forms
from django.core.exceptions import ValidationError

from garage.people.models import VacuumUnit
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import PRESSURE, VACUUM
from garage.quantities.typed import FigureField
from garage.quantities.words import bare
from garage.record.row_versions import RowVersionForm
from garage.vehicles.models import TriggerKind
from jobs.maps.models import SETTINGS, BoostUnit, MapVersion, RevLimitManner
from jobs.maps.stored_map import VacuumScheme, from_columns
from jobs.maps.table_fields import BoostField, Cell, Column, RowsField, VacuumTableField
from jobs.maps.unit_limits import beyond_cell, beyond_figure, beyond_pressure
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.unit import TableEntries, UnitType
from timing.units import convert

SPEED = Column("curve_rpm", "speed", "rpm", 0, 15000)
DEGREES = Column("curve_deg", "degrees", "degrees", -60, 60)
# A vacuum table for a unit that has none of its own: enough to see its shape.
USUAL_COLUMNS, USUAL_ROWS = [1000.0, 2000.0, 3000.0, 4000.0], [0.0, 20.0, 40.0, 60.0]


class SettingField(FigureField):
    """A figure as it stands in a unit: without the noise of a conversion."""

    def prepare_value(self, value: Any) -> Any:
        return bare(value) if isinstance(value, int | float) else value


class MapForm(MeasuringForm, RowVersionForm):
    """All figures of a map version. `unit` is what they must fit, `initial` comes from `initial_of`."""

    base_deg = SettingField(unit="°", label="Base timing")
    curve = RowsField((SPEED, DEGREES), needed=1, label="Speed curve")
    vacuum_scheme = forms.ChoiceField(
        choices=VacuumScheme.choices, widget=forms.RadioSelect, required=False, label="Vacuum part"
    )
    vacuum_unit = forms.ChoiceField(choices=VacuumUnit.choices, required=False, label="Show vacuum in")
    # The unit the figures on the page are in: choosing another one to show them in never changes what they mean.
    vacuum_shown_in = forms.ChoiceField(choices=VacuumUnit.choices, widget=forms.HiddenInput, required=False)
    vacuum_start_kpa = MeasureField(quantity=VACUUM, carried_as="vacuum_shown_in", required=False, label="Starts at")
    vacuum_full_kpa = MeasureField(quantity=VACUUM, carried_as="vacuum_shown_in", required=False, label="Full at")
    vacuum_full_deg = SettingField(unit="°", required=False, label="Maximum vacuum advance")
    vacuum_from_rpm = SettingField(unit="rpm", required=False, label="Acts above")
    vacuum_table = VacuumTableField(carried_as="vacuum_shown_in", label="Vacuum table")
    boost_unit = forms.ChoiceField(choices=BoostUnit.choices, required=False, label="Show boost in")
    boost_shown_in = forms.ChoiceField(choices=BoostUnit.choices, widget=forms.HiddenInput, required=False)
    boost = BoostField(carried_as="boost_shown_in", label="Retard under boost")
    dwell_ms = SettingField(unit="ms", required=False, label="Dwell")
    rev_limit_rpm = SettingField(unit="rpm", required=False, label="Rev limit")
    rev_limit_manner = forms.ChoiceField(
        choices=[("", "not set"), *RevLimitManner.choices], required=False, label="Limiter: soft or hard"
    )
    repeated_sparks = forms.BooleanField(required=False, label="Repeated sparks while cranking")
    trigger = forms.ChoiceField(choices=[("", "not set"), *TriggerKind.choices], required=False, label="Trigger")

    def __init__(self, *args: Any, unit: UnitType, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit = unit
        for name in ("vacuum_start_kpa", "vacuum_full_kpa", "vacuum_table"):
            self.fields[name].unit = self.initial.get("vacuum_unit") or VACUUM.canonical  # type: ignore[attr-defined]
        self.fields["boost"].unit = self.initial.get("boost_unit") or PRESSURE.canonical  # type: ignore[attr-defined]
        for name in (
            "base_deg",
            "vacuum_start_kpa",
            "vacuum_full_kpa",
            "vacuum_full_deg",
            "vacuum_from_rpm",
            "dwell_ms",
            "rev_limit_rpm",
        ):
            self.fields[name].validators += MapVersion._meta.get_field(name).validators  # type: ignore[union-attr]

    @property
    def vacuum_in(self) -> str:
        """The unit that vacuum is in on this page."""
        return str(self["vacuum_table"].field.unit)  # type: ignore[attr-defined]

    @property
    def boost_in(self) -> str:
        """The unit that boost is in on this page."""
        return str(self["boost"].field.unit)  # type: ignore[attr-defined]

    @property
    def _table(self) -> VacuumTableField:
        field = self.fields["vacuum_table"]
        assert isinstance(field, VacuumTableField)  # noqa: S101 - for the type checker
        return field

    def _rows(self, name: str) -> RowsField:
        field = self.fields[name]
        assert isinstance(field, RowsField)  # noqa: S101 - for the type checker
        return field

    # What was only shown and not touched keeps the exact figure it was shown for.
    def clean_vacuum_table(self) -> dict[str, list[Any]]:
        table: dict[str, list[Any]] = self.cleaned_data["vacuum_table"]
        before = self.initial.get("vacuum_table")
        if table and before and len(table["vacuum"]) == len(before["vacuum"]):
            pairs = zip(table["vacuum"], before["vacuum"], strict=True)
            table["vacuum"] = [_nearest_same(kpa, was) for kpa, was in pairs]
        return table

    def clean_boost(self) -> list[list[float]]:
        rows: list[list[float]] = self.cleaned_data["boost"]
        before = self.initial.get("boost") or []
        if len(before) == len(rows):
            return [[_nearest_same(row[0], was[0]), row[1]] for row, was in zip(rows, before, strict=True)]
        return rows

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for name in ("vacuum_scheme", "vacuum_unit", "boost_unit"):
            cleaned[name] = cleaned.get(name) or self.initial[name]
        self._keep_unit_typed(cleaned)
        self._lay_out_table(cleaned)
        self._hold_against_unit(cleaned)
        if cleaned.get("vacuum_scheme") == VacuumScheme.RAMP:
            for name in ("vacuum_start_kpa", "vacuum_full_kpa", "vacuum_full_deg"):
                if cleaned.get(name) is None and name not in self.errors:
                    self.add_error(name, "Needed for a ramp.")
        if not self.errors:
            try:
                from_columns(self.settings())
            except TimingError as problem:
                raise ValidationError(f"{str(problem)[0].upper()}{str(problem)[1:]}.", code="timing") from problem
        return cleaned

    def settings(self) -> dict[str, Any]:
        """The cleaned figures as the columns of a map version."""
        return {
            **{name: self.cleaned_data[name] for name in SETTINGS},
            "vacuum_from_rpm": self.cleaned_data["vacuum_from_rpm"] or 0.0,
        }

    def ignition_map(self) -> IgnitionMap:
        """The map as typed; only of a form without refusals."""
        return from_columns(self.settings())

    def _keep_unit_typed(self, cleaned: dict[str, Any]) -> None:
        """A unit written beside a figure is the one the map is kept in, unless another was chosen on the same page."""
        typed = {cleaned.get(name) for name in ("vacuum_start_unit", "vacuum_full_unit")} - {self.vacuum_in, "", None}
        if cleaned["vacuum_unit"] == self.vacuum_in and len(typed) == 1:
            unit = typed.pop()
            cleaned["vacuum_unit"] = unit if unit in VacuumUnit.values else cleaned["vacuum_unit"]

    def _lay_out_table(self, cleaned: dict[str, Any]) -> None:
        """A table that was asked for and has no cells yet takes the nodes of the unit, and what the ramp gave there."""
        laid_out = cleaned.get("vacuum_table") or "vacuum_table" in self.errors
        if laid_out or cleaned["vacuum_scheme"] != VacuumScheme.TABLE:
            return
        entries = self.unit.vacuum
        speeds: list[float] = USUAL_COLUMNS
        vacua: list[float] = USUAL_ROWS
        if isinstance(entries, TableEntries):
            speeds = list(entries.rpm)
            vacua = [float(convert(node, entries.unit, "kPa")) for node in entries.vacuum]
        row = [self._ramp_height(cleaned, kpa) for kpa in vacua]
        cleaned["vacuum_table"] = {"rpm": speeds, "vacuum": vacua, "degrees": [[one] * len(speeds) for one in row]}

    def _ramp_height(self, cleaned: dict[str, Any], kpa: float) -> float:
        """What the ramp in the boxes gives at `kpa`; nothing where it is not filled in."""
        start, full, degrees = (cleaned.get(f"vacuum_{name}") for name in ("start_kpa", "full_kpa", "full_deg"))
        if start is None or full is None or degrees is None or full <= start:
            return 0.0
        return round(float(np.interp(kpa, (start, full), (0.0, degrees))), 1)

    def _hold_against_unit(self, cleaned: dict[str, Any]) -> None:
        """Refuse beside its cell or box what is beyond the unit."""
        base = cleaned.get("base_deg")
        for name, steps in (
            ("base_deg", self.unit.base),
            ("dwell_ms", self.unit.dwell_ms),
            ("rev_limit_rpm", self.unit.rev_limit_rpm),
        ):
            message = beyond_figure(cleaned.get(name), steps)
            if message:
                self.add_error(name, message)
        if cleaned.get("vacuum_scheme") == VacuumScheme.RAMP:
            for name in ("vacuum_start_kpa", "vacuum_full_kpa", "vacuum_full_deg", "vacuum_from_rpm"):
                message = beyond_pressure(name, cleaned.get(name), self.unit)
                if message:
                    self.add_error(name, message)
        rows = self._rows("curve")
        for place, row in _placed(self["curve"].data, cleaned.get("curve")):
            message = beyond_cell(row[1], base, self.unit)
            if message:
                rows.refuse(DEGREES, place, message)
        try:
            rows.raise_if_refused()
        except ValidationError as refused:
            if "curve" not in self.errors:
                self.add_error("curve", refused)

    # What the page writes out.
    def curve_rows(self, spare: int = 0) -> list[list[Cell]]:
        return self._rows("curve").rows(self["curve"].value(), spare)

    def curve_rows_to_type(self) -> list[list[Cell]]:
        """With some blank rows at the end, so that a curve can be typed without any script."""
        return self.curve_rows(spare=3)

    def boost_rows(self) -> list[list[Cell]]:
        return self._rows("boost").rows(self["boost"].value(), spare=2)

    def table_head(self) -> list[Cell]:
        return self._table.head_cells(self["vacuum_table"].value())

    def table_body(self) -> list[tuple[Cell, list[Cell]]]:
        return self._table.body_rows(self["vacuum_table"].value())


def _nearest_same(kpa: float, before: float) -> float:
    """`before` where `kpa` is it but for the rounding of what was shown."""
    return before if abs(kpa - before) < 5e-4 * max(1.0, abs(before)) else kpa


def _placed(typed: Any, rows: list[list[float]] | None) -> list[tuple[int, list[float]]]:
    """Cleaned rows with the places they were typed at: blank rows between them are counted."""
    if not rows or not isinstance(typed, Mapping):
        return []
    places = [
        place
        for place, (a, b) in enumerate(zip(typed[SPEED.name], typed[DEGREES.name], strict=False))
        if a.strip() or b.strip()
    ]
    return list(zip(places, rows, strict=True))


def initial_of(version: MapVersion) -> dict[str, Any]:
    """What the form shows of a version."""
    return {
        **{name: getattr(version, name) for name in SETTINGS},
        "row_version": version.row_version,
        "vacuum_shown_in": version.vacuum_unit,
        "boost_shown_in": version.boost_unit,
    }
