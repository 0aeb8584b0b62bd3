"""What a column of a log may hold, in which units, and which column looks like it."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from jobs.roadlogs.shape import Preview, is_clock

PRESSURES = ("kPa", "mbar", "bar", "inHg", "mmHg", "psi")
VACUUM_IN = tuple(f"vacuum {unit}" for unit in PRESSURES)
ABSOLUTE_IN = tuple(f"absolute {unit}" for unit in PRESSURES)
CLOCK = "clock"


@dataclass(frozen=True, slots=True)
class Role:
    """What a column may be. `units` are the values of a choice with their labels; the first is the usual one."""

    key: str
    label: str
    units: Mapping[str, str]
    looks_like: re.Pattern[str]
    is_required: bool = False


def _like(words: str) -> re.Pattern[str]:
    return re.compile(words, re.IGNORECASE)


def _same(*units: str) -> dict[str, str]:
    return {unit: unit for unit in units}


ROLES = (
    Role(
        "time", "Time", {"s": "seconds", "ms": "milliseconds", "min": "minutes", CLOCK: "clock, h:min:s"},
        _like(r"^(time|t|zeit|temps|timestamp|log ?time|elapsed)\b"), is_required=True,
    ),
    Role("rpm", "Engine speed", _same("rpm"), _like(r"rpm|engine ?speed|drehzahl|\brevs?\b"), is_required=True),
    Role(
        "manifold", "Manifold", {**_same(*VACUUM_IN), **_same(*ABSOLUTE_IN)},
        _like(r"vac|\bmap\b|manifold|mani?f|inlet ?press|depression"), is_required=True,
    ),
    Role("throttle", "Throttle", _same("%"), _like(r"throttle|\btps\b|pedal")),
    Role("coolant", "Coolant", _same("°C", "°F"), _like(r"coolant|water|\b(clt|ect)\b")),
    Role("air", "Air temperature", _same("°C", "°F"), _like(r"\biat\b|\bmat\b|\bair\b|intake temp")),
    Role("knock", "Knock level", {"": "as logged"}, _like(r"knock|\bping|pinking")),
    Role("mixture", "Mixture", _same("lambda", "AFR"), _like(r"lambda|\bafr\b|mixture|\bλ")),
    Role("speed", "Road speed", _same("km/h", "mph"), _like(r"(road|vehicle) ?speed|\bvss\b|^speed$|km/h|kph|mph")),
    Role("gear", "Gear", {"": "as logged"}, _like(r"\bgear\b")),
)  # fmt: skip
ROLE_OF = {role.key: role for role in ROLES}


@dataclass(frozen=True, slots=True)
class Mapped:
    """The column of the file, from 0, that holds something, and its unit."""

    column: int
    unit: str


ColumnMap = dict[str, Mapped]


def as_json(mapped: ColumnMap) -> dict[str, Any]:
    return {key: [one.column, one.unit] for key, one in mapped.items()}


def from_json(kept: Mapping[str, Any]) -> ColumnMap:
    return {key: Mapped(int(column), str(unit)) for key, (column, unit) in kept.items()}


def guessed(preview: Preview) -> ColumnMap:
    """For each role the first column whose name looks like it, and the unit by its header, else by its figures."""
    found: ColumnMap = {}
    taken: set[int] = set()
    for role in ROLES:
        for place, name in enumerate(preview.names):
            if place not in taken and role.looks_like.search(name):
                cells = [row[place] for row in preview.rows]
                found[role.key] = Mapped(place, _unit_of(role, name, preview.units[place], cells))
                taken.add(place)
                break
    if "time" not in found and (free := _time_without_name(preview, taken)) is not None:
        cells = [row[free] for row in preview.rows]
        found["time"] = Mapped(free, _unit_of(ROLE_OF["time"], "", preview.units[free], cells))
    return found


def _time_without_name(preview: Preview, taken: set[int]) -> int | None:
    """The first column of clock times, else the first column of all."""
    clocks = [place for place in range(len(preview.names)) if all(is_clock(row[place]) for row in preview.rows)]
    free = [place for place in [*clocks, 0] if place not in taken]
    return free[0] if free else None


def _unit_of(role: Role, name: str, written: str, cells: Sequence[str]) -> str:
    said = written.replace(" ", "").replace(".", "").casefold()
    if role.key == "time":
        if any(is_clock(cell) for cell in cells):
            return CLOCK
        return {"ms": "ms", "msec": "ms", "min": "min"}.get(said, "s")
    if role.key == "manifold":
        kind = "vacuum" if re.search(r"vac|depression", name, re.IGNORECASE) else "absolute"
        known = {unit.casefold(): unit for unit in PRESSURES} | {"psia": "psi", "kpaa": "kPa", "hpa": "mbar"}
        return f"{kind} {known.get(said, 'kPa')}"
    for unit in role.units:
        if unit and said.lstrip("°").removeprefix("deg") == unit.casefold().lstrip("°"):
            return unit
    return {"kph": "km/h", "kmh": "km/h"}.get(said, next(iter(role.units)))
