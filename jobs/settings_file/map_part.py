"""The part of a file that is the map, with the unit of each figure in its name, and the way back."""

from collections.abc import Mapping
from typing import Any

from garage.record.plain import Plain
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable


def map_part(ignition_map: IgnitionMap) -> Plain:
    """`ignition_map` as the schema has it, its figures rounded to a millionth as in the record."""
    form = ignition_map.canonical()
    boost = form["boost"]
    return {
        "base_timing_deg_btdc": form["base_deg"],
        "curve": [
            {"rpm": rpm, "advance_deg": degrees}
            for rpm, degrees in zip(form["curve"]["rpm"], form["curve"]["degrees"], strict=True)
        ],
        "vacuum": _vacuum_part(form["vacuum"]),
        "boost": None
        if boost is None
        else [
            {"boost_kpa": kpa, "retard_deg": degrees}
            for kpa, degrees in zip(boost["boost"], boost["degrees"], strict=True)
        ],
        "dwell_ms": form["dwell_ms"],
        "rev_limit_rpm": form["rev_limit_rpm"],
        "rev_limit_manner": form["rev_limit_manner"],
        "repeated_sparks_while_cranking": form["repeated_sparks"],
        "trigger": form["trigger"],
    }


def _vacuum_part(part: Plain | None) -> Plain | None:
    if part is None:
        return None
    if part["kind"] == "ramp":
        return {
            "kind": "ramp",
            "start_kpa": part["start"],
            "full_kpa": part["full"],
            "full_advance_deg": part["full_deg"],
            "from_rpm": part["from_rpm"],
        }
    return {"kind": "table", "rpm": part["rpm"], "vacuum_kpa": part["vacuum"], "advance_deg": part["degrees"]}


def map_of(part: Mapping[str, Any]) -> IgnitionMap:
    """The map that `part` says; `part` has been held against the schema.

    Raises
    ------
    timing.errors.TimingError
        If its figures are no map.
    """
    curve, boost = part["curve"], part["boost"]
    return IgnitionMap(
        base_deg=part["base_timing_deg_btdc"],
        curve=AdvanceCurve([point["rpm"] for point in curve], [point["advance_deg"] for point in curve]),
        vacuum=_vacuum_of(part["vacuum"]),
        boost=None
        if boost is None
        else BoostRetard([point["boost_kpa"] for point in boost], [point["retard_deg"] for point in boost]),
        dwell_ms=part["dwell_ms"],
        rev_limit_rpm=part["rev_limit_rpm"],
        rev_limit_manner=part["rev_limit_manner"],
        repeated_sparks=part["repeated_sparks_while_cranking"],
        trigger=part["trigger"],
    )


def _vacuum_of(part: Mapping[str, Any] | None) -> VacuumRamp | VacuumTable | None:
    if part is None:
        return None
    if part["kind"] == "ramp":
        return VacuumRamp(part["start_kpa"], part["full_kpa"], part["full_advance_deg"], part["from_rpm"])
    return VacuumTable(rpm=part["rpm"], vacuum=part["vacuum_kpa"], degrees=part["advance_deg"])
