"""A map as the record keeps it, written and read here alone: as JSON, and as the columns of a version."""

from collections.abc import Mapping
from typing import Any

from django.db.models import TextChoices

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

Json = dict[str, Any]


class VacuumScheme(TextChoices):
    NONE = "none", "none"
    RAMP = "ramp", "ramp"
    TABLE = "table", "table"


def to_json(ignition_map: IgnitionMap) -> Json:
    """The canonical JSON of `ignition_map`: what is hashed, kept with a document and written in the journal."""
    return ignition_map.canonical()


def from_json(data: Mapping[str, Any]) -> IgnitionMap:
    """The map that `data` is the JSON of.

    The first release kept what a unit delivers as columns. Those rows are released and never change, so both forms
    are read.

    Raises
    ------
    LookupError, TypeError, TimingError
        If it is no map.
    """
    return IgnitionMap.from_canonical(data) if "form" in data else from_columns(data)


def to_columns(ignition_map: IgnitionMap) -> dict[str, Any]:
    """The columns of a version with this map; in which units it was entered is left to whoever writes it."""
    columns: dict[str, Any] = {
        "base_deg": ignition_map.base_deg,
        "curve": _rows(ignition_map.curve.rpm, ignition_map.curve.degrees),
        "vacuum_scheme": VacuumScheme.NONE,
        "vacuum_start_kpa": None,
        "vacuum_full_kpa": None,
        "vacuum_full_deg": None,
        "vacuum_from_rpm": 0.0,
        "vacuum_table": {},
        "boost": [],
        "dwell_ms": ignition_map.dwell_ms,
        "rev_limit_rpm": ignition_map.rev_limit_rpm,
        "rev_limit_manner": ignition_map.rev_limit_manner or "",
        "repeated_sparks": ignition_map.repeated_sparks,
        "trigger": ignition_map.trigger or "",
    }
    match ignition_map.vacuum:
        case VacuumRamp() as ramp:
            columns |= {
                "vacuum_scheme": VacuumScheme.RAMP,
                "vacuum_start_kpa": ramp.start,
                "vacuum_full_kpa": ramp.full,
                "vacuum_full_deg": ramp.full_deg,
                "vacuum_from_rpm": ramp.from_rpm,
            }
        case VacuumTable() as table:
            columns |= {
                "vacuum_scheme": VacuumScheme.TABLE,
                "vacuum_table": {
                    "rpm": list(table.rpm),
                    "vacuum": list(table.vacuum),
                    "degrees": [list(row) for row in table.degrees],
                },
            }
    if ignition_map.boost is not None:
        columns["boost"] = _rows(ignition_map.boost.boost, ignition_map.boost.degrees)
    return columns


def from_columns(columns: Mapping[str, Any]) -> IgnitionMap:
    """The map that the columns of a version stand for.

    Raises
    ------
    LookupError
        If a column is missing.
    TimingError
        If they are no map.
    """
    return IgnitionMap(
        base_deg=columns["base_deg"],
        curve=AdvanceCurve(*_split(columns["curve"])),
        vacuum=_vacuum_from(columns),
        boost=BoostRetard(*_split(columns["boost"])) if columns["boost"] else None,
        dwell_ms=columns["dwell_ms"],
        rev_limit_rpm=columns["rev_limit_rpm"],
        rev_limit_manner=columns["rev_limit_manner"] or None,
        repeated_sparks=columns["repeated_sparks"],
        trigger=columns["trigger"] or None,
    )


def _vacuum_from(columns: Mapping[str, Any]) -> VacuumRamp | VacuumTable | None:
    if columns["vacuum_scheme"] == VacuumScheme.RAMP:
        return VacuumRamp(
            columns["vacuum_start_kpa"],
            columns["vacuum_full_kpa"],
            columns["vacuum_full_deg"],
            columns["vacuum_from_rpm"] or 0.0,
        )
    if columns["vacuum_scheme"] == VacuumScheme.TABLE:
        table = columns["vacuum_table"]
        return VacuumTable(rpm=table.get("rpm", []), vacuum=table.get("vacuum", []), degrees=table.get("degrees", []))
    return None


def _rows(first: tuple[float, ...], second: tuple[float, ...]) -> list[list[float]]:
    return [list(row) for row in zip(first, second, strict=True)]


def _split(rows: list[list[float]]) -> tuple[list[float], list[float]]:
    return [row[0] for row in rows], [row[1] for row in rows]
