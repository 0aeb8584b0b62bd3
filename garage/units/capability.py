"""What a unit can hold, on its way into the database and out of it: `timing.unit.UnitType` as plain JSON values."""

from collections.abc import Mapping
from typing import Any

from garage.record.plain import Plain
from timing.unit import (
    BoostNodes,
    EntryWord,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitError,
    UnitType,
)


def capability_of(unit: UnitType) -> Plain:
    """`unit` as JSON values; `unit_type_from` is the way back."""
    return {
        "nodes": _nodes_of(unit.nodes),
        "degree": _steps_of(unit.degree),
        "counted_from": unit.counted_from,
        "base": _steps_of(unit.base),
        "vacuum": _pressure_part_of(unit.vacuum),
        "boost": _pressure_part_of(unit.boost),
        "dwell_ms": _steps_of(unit.dwell_ms),
        "rev_limit_rpm": _steps_of(unit.rev_limit_rpm),
        "rev_limit_manners": list(unit.rev_limit_manners),
        "repeated_sparks": unit.repeated_sparks,
        # What was described before this was asked keeps its description to the letter: the content hash covers it.
        **({"takes_delay": True} if unit.takes_delay else {}),
        "entries": [
            {"key": entry.key, "words": entry.words, "choices": [list(choice) for choice in entry.choices]}
            for entry in unit.entries
        ],
    }


def unit_type_from(stored: Mapping[str, Any]) -> UnitType:
    """The unit type that `stored` describes.

    Raises
    ------
    TimingError
        If it contradicts itself, or was not written by `capability_of`.
    """
    try:
        return UnitType(
            nodes=_nodes_from(stored["nodes"]),
            degree=Steps(**stored["degree"]),
            counted_from=stored["counted_from"],
            base=_steps_from(stored["base"]),
            vacuum=_vacuum_from(stored["vacuum"]),
            boost=_boost_from(stored["boost"]),
            dwell_ms=_steps_from(stored["dwell_ms"]),
            rev_limit_rpm=_steps_from(stored["rev_limit_rpm"]),
            rev_limit_manners=tuple(stored["rev_limit_manners"]),
            repeated_sparks=stored["repeated_sparks"],
            takes_delay=stored.get("takes_delay", False),
            entries=tuple(
                EntryWord(entry["key"], entry["words"], tuple((value, words) for value, words in entry["choices"]))
                for entry in stored["entries"]
            ),
        )
    except (KeyError, TypeError) as problem:
        raise UnitError("the stored description of this unit type cannot be read") from problem


def _steps_of(steps: Steps | None) -> Plain | None:
    return None if steps is None else {"low": steps.low, "high": steps.high, "step": steps.step}


def _steps_from(stored: Plain | None) -> Steps | None:
    return None if stored is None else Steps(**stored)


def _nodes_of(nodes: FixedNodes | FreeNodes) -> Plain:
    if isinstance(nodes, FixedNodes):
        return {"kind": "fixed", "rpm": list(nodes.rpm)}
    return {"kind": "free", "count": nodes.count, "speeds": _steps_of(nodes.speeds)}


def _nodes_from(stored: Plain) -> FixedNodes | FreeNodes:
    if stored["kind"] == "fixed":
        return FixedNodes(stored["rpm"])
    return FreeNodes(stored["count"], Steps(**stored["speeds"]))


def _pressure_part_of(part: RampEntries | TableEntries | BoostNodes | None) -> Plain | None:
    match part:
        case None:
            return None
        case RampEntries():
            return {
                "kind": "ramp",
                "unit": part.unit,
                "start": _steps_of(part.start),
                "full": _steps_of(part.full),
                "degrees": _steps_of(part.degrees),
                "from_rpm": _steps_of(part.from_rpm),
            }
        case TableEntries():
            return {
                "kind": "table",
                "unit": part.unit,
                "rpm": list(part.rpm),
                "vacuum": list(part.vacuum),
                "degrees": _steps_of(part.degrees),
            }
        case BoostNodes():
            return {
                "kind": "nodes",
                "unit": part.unit,
                "boost": list(part.boost),
                "degrees": _steps_of(part.degrees),
            }


def _ramp_from(stored: Plain) -> RampEntries:
    return RampEntries(
        unit=stored["unit"],
        start=Steps(**stored["start"]),
        full=Steps(**stored["full"]),
        degrees=Steps(**stored["degrees"]),
        from_rpm=_steps_from(stored["from_rpm"]),
    )


def _vacuum_from(stored: Plain | None) -> RampEntries | TableEntries | None:
    if stored is None:
        return None
    if stored["kind"] == "ramp":
        return _ramp_from(stored)
    return TableEntries(stored["unit"], rpm=stored["rpm"], vacuum=stored["vacuum"], degrees=Steps(**stored["degrees"]))


def _boost_from(stored: Plain | None) -> RampEntries | BoostNodes | None:
    if stored is None:
        return None
    if stored["kind"] == "ramp":
        return _ramp_from(stored)
    return BoostNodes(stored["unit"], stored["boost"], Steps(**stored["degrees"]))
