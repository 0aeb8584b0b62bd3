"""Figures held against what the unit can hold, each with a refusal that says what it holds."""

from garage.quantities.words import plain
from timing.unit import RampEntries, Steps, UnitType
from timing.units import convert


def beyond_figure(value: float | None, steps: Steps | None) -> str:
    """Why a plain figure is beyond the unit; empty if it is not, or if the unit has no such entry."""
    if value is None or steps is None or steps.reaches(value):
        return ""
    return f"The unit holds {plain(steps.low)} to {plain(steps.high)}."


def beyond_cell(degrees: float, base: float | None, unit: UnitType) -> str:
    """Why the advance at a node, counted from `base`, is beyond the unit."""
    if unit.counted_from == "base":
        return beyond_figure(degrees, unit.degree)
    if base is None or unit.degree.reaches(degrees + base):
        return ""
    low, high = unit.degree.low, unit.degree.high
    return f"With base {plain(base)} the unit holds {plain(low - base)} to {plain(high - base)} here."


def beyond_pressure(name: str, value: float | None, unit: UnitType) -> str:
    """Why a figure of the vacuum ramp is beyond the unit; `name` is its column."""
    entries = unit.vacuum
    if value is None or not isinstance(entries, RampEntries):
        return ""
    if name == "vacuum_full_deg":
        return beyond_figure(value, entries.degrees)
    if name == "vacuum_from_rpm":
        if entries.from_rpm is None:
            return "The unit does not ask for a speed: leave empty." if value else ""
        return beyond_figure(value, entries.from_rpm)
    steps = entries.start if name == "vacuum_start_kpa" else entries.full
    if steps.reaches(float(convert(value, "kPa", entries.unit))):
        return ""
    return f"The unit holds {plain(steps.low)} to {plain(steps.high)} {entries.unit}."
