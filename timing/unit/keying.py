"""The key-in sheet, one entry a line, and what the unit shows afterwards held against it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from timing.errors import TimingError
from timing.inputs import number
from timing.unit.entries import BoostNodes, RampEntries, Steps, TableEntries, UnitError
from timing.unit.fitting import FittedMap
from timing.unit.unit_type import EntryKey, EntryWord, UnitType
from timing.units import convert
from timing.vacuum import VacuumRamp, VacuumTable

# Half a unit in the last place of the finest step there is; what is shown and what was keyed in are the same text.
_SAME_FIGURE = 1e-6

_FIGURE = re.compile(r"[-+\u2212]?\d+(?:[.,]\d+)?|[-+\u2212]?[.,]\d+")


@dataclass(frozen=True, slots=True)
class KeyInLine:
    """One entry to key in.

    Attributes
    ----------
    position : int
        Its place in the keying order, from 1.
    key : str
        Which entry: one of `EntryKey`.
    words : str
        What the workshop calls it, with its place where there are several: 'node 2500'.
    value_text : str
        What to key in, with the unit's own decimals or words.
    value : float or str
        The same as a figure in `unit`, or as 'soft', 'hard', 'on', 'off'.
    unit : str
        'degrees', 'rpm', 'ms', a unit of pressure, or nothing for a choice.
    place : str
        Which of several: '2500' of a node, '1200 rpm 40 kPa' of a cell; empty where there is one.
    """

    position: int
    key: EntryKey
    words: str
    value_text: str
    value: float | str
    unit: str
    place: str = ""


@dataclass(frozen=True, slots=True)
class Mismatch:
    """One entry that the unit shows otherwise.

    Attributes
    ----------
    position : int
        The line's place in the keying order.
    words : str
        The line's words.
    shown, expected : str
        What the unit shows, and what the map says.
    sentence : str
        'node 2500: the unit shows 21, the map says 22'.
    """

    position: int
    words: str
    shown: str
    expected: str
    sentence: str


@dataclass(frozen=True, slots=True)
class ReadBack:
    """A read-back held against the key-in sheet.

    Attributes
    ----------
    clean : bool
        Whether every line was read and equal.
    mismatches : tuple of Mismatch
        What differs, in keying order.
    missing : tuple of str
        The words of the lines that were not read, in keying order.
    """

    clean: bool
    mismatches: tuple[Mismatch, ...]
    missing: tuple[str, ...]


def key_in_lines(fitted: FittedMap, unit: UnitType) -> tuple[KeyInLine, ...]:
    """Everything to key in, in the unit's order, words and rounding.

    A node has one line, or two where its speed is keyed in as well; a table has one a cell, row by row of vacuum. An
    entry for which the map gives no figure (`FittedMap.unset`) has no line.

    Parameters
    ----------
    fitted : FittedMap
        What the unit is to hold.
    unit : UnitType
        The unit it was fitted to.

    Returns
    -------
    tuple of KeyInLine
        In keying order.

    Raises
    ------
    UnitError
        If `fitted` was not fitted to `unit`.
    """
    lines: list[KeyInLine] = []
    done: set[EntryKey] = set()
    keys = [entry.key for entry in unit.entries]
    for place, entry in enumerate(unit.entries):
        if entry.key in done:
            continue
        neighbour = unit.entries[place + 1] if place + 1 < len(keys) else None
        if neighbour is not None and {entry.key, neighbour.key} == {"node_rpm", "node"}:
            done.add(neighbour.key)
            pairs = zip(_lines(entry, fitted, unit), _lines(neighbour, fitted, unit), strict=True)
            found = [line for pair in pairs for line in pair]
        else:
            found = list(_lines(entry, fitted, unit))
        lines += [replace(line, position=len(lines) + count) for count, line in enumerate(found, start=1)]
    return tuple(lines)


def read_back(lines: tuple[KeyInLine, ...], shown: Mapping[int, str | float | bool | None]) -> ReadBack:
    """What the unit shows, held against what was keyed in.

    Parameters
    ----------
    lines : tuple of KeyInLine
        The key-in sheet.
    shown : mapping
        For each position what the unit shows: typed text or a figure in the line's unit, for a choice its words. A
        comma is read as a decimal point, and the unit may stand behind. What is left out, None or blank was not read.

    Returns
    -------
    ReadBack
        What differs and what was not read, in keying order.

    Raises
    ------
    UnitError
        If there is no line at a position.
    """
    positions = {line.position for line in lines}
    strange = sorted(position for position in shown if position not in positions)
    if strange:
        raise UnitError(f"the key-in sheet has no line {strange[0]}")
    mismatches, missing = [], []
    for line in lines:
        seen = shown.get(line.position)
        if seen is None or (isinstance(seen, str) and not seen.strip()):
            missing.append(line.words)
        elif not _same(line, seen):
            text = _as_text(seen)
            sentence = f"{line.words}: the unit shows {text}, the map says {line.value_text}"
            mismatches.append(Mismatch(line.position, line.words, text, line.value_text, sentence))
    return ReadBack(not mismatches and not missing, tuple(mismatches), tuple(missing))


def _lines(entry: EntryWord, fitted: FittedMap, unit: UnitType) -> Iterator[KeyInLine]:
    """Every line that `entry` stands for; its position is not known yet."""
    for place, target, steps, in_unit in _figures(entry.key, fitted, unit):
        words = f"{entry.words} {place}" if place else entry.words
        if isinstance(target, str):
            yield KeyInLine(0, entry.key, words, entry.shown(target), target, "", place)
            continue
        if steps is None or not steps.holds(target):
            raise UnitError(f"{words}: the unit cannot hold {target:g}; fit the map to this unit first")
        value = steps.nearest(target)
        yield KeyInLine(0, entry.key, words, steps.text(value), value, in_unit, place)


def _figures(key: EntryKey, fitted: FittedMap, unit: UnitType) -> Iterator[tuple[str, float | str, Steps | None, str]]:
    """Place, value, steps and unit of everything keyed in under `key`."""
    delivered, nodes = fitted.map, fitted.curve_fit.curve
    if key == "base":
        yield "", delivered.base_deg, unit.base, "degrees"
    elif key == "node":
        for rpm, degrees in zip(nodes.rpm, nodes.degrees, strict=True):
            yield f"{rpm:g}", degrees, unit.degree, "degrees"
    elif key == "node_rpm":
        for count, rpm in enumerate(nodes.rpm, start=1):
            yield str(count), rpm, getattr(unit.nodes, "speeds", None), "rpm"
    elif key == "dwell" and delivered.dwell_ms is not None:
        yield "", delivered.dwell_ms, unit.dwell_ms, "ms"
    elif key == "rev_limit" and delivered.rev_limit_rpm is not None:
        yield "", delivered.rev_limit_rpm, unit.rev_limit_rpm, "rpm"
    elif key == "rev_limit_manner" and delivered.rev_limit_manner is not None:
        yield "", delivered.rev_limit_manner, None, ""
    elif key == "repeated_sparks":
        yield "", "on" if delivered.repeated_sparks else "off", None, ""
    elif key.startswith("vacuum_"):
        yield from _vacuum_figures(key, fitted, unit)
    elif key.startswith("boost_"):
        yield from _boost_figures(key, fitted, unit)


def _vacuum_figures(key: EntryKey, fitted: FittedMap, unit: UnitType) -> Iterator[tuple[str, float, Steps | None, str]]:
    part, entries = fitted.map.vacuum, unit.vacuum
    if isinstance(part, VacuumRamp) and isinstance(entries, RampEntries):
        if key == "vacuum_start":
            yield "", _in(entries.unit, part.start), entries.start, entries.unit
        elif key == "vacuum_full":
            yield "", _in(entries.unit, part.full), entries.full, entries.unit
        elif key == "vacuum_degrees":
            yield "", part.full_deg, entries.degrees, "degrees"
        else:
            yield "", part.from_rpm, entries.from_rpm, "rpm"
    elif isinstance(part, VacuumTable) and isinstance(entries, TableEntries):
        if part.rpm != entries.rpm or len(part.vacuum) != len(entries.vacuum):
            raise UnitError("the vacuum table has other nodes than the unit's; fit the map to this unit first")
        for vacuum, row in zip(entries.vacuum, part.degrees, strict=True):
            for rpm, degrees in zip(entries.rpm, row, strict=True):
                yield f"{rpm:g} rpm {vacuum:g} {entries.unit}", degrees, entries.degrees, "degrees"
    else:
        raise UnitError("the vacuum part is not of the unit's kind; fit the map to this unit first")


def _boost_figures(key: EntryKey, fitted: FittedMap, unit: UnitType) -> Iterator[tuple[str, float, Steps | None, str]]:
    part, entries = fitted.map.boost, unit.boost
    if part is None or entries is None or (isinstance(entries, RampEntries) and len(part.boost) != 2):
        raise UnitError("the retard under boost is not of the unit's kind; fit the map to this unit first")
    if isinstance(entries, BoostNodes):
        if len(part.boost) != len(entries.boost):
            raise UnitError("the retard under boost has other nodes than the unit's; fit the map to this unit first")
        for boost, degrees in zip(entries.boost, part.degrees, strict=True):
            yield f"{boost:g} {entries.unit}", degrees, entries.degrees, "degrees"
    elif key == "boost_start":
        yield "", _in(entries.unit, part.boost[0]), entries.start, entries.unit
    elif key == "boost_full":
        yield "", _in(entries.unit, part.boost[1]), entries.full, entries.unit
    else:
        yield "", part.degrees[1], entries.degrees, "degrees"


def _in(unit: str, kpa: float) -> float:
    return float(convert(kpa, "kPa", unit))


def _same(line: KeyInLine, seen: str | float | bool) -> bool:
    if isinstance(line.value, str):
        return _as_text(seen).casefold() in {line.value.casefold(), line.value_text.strip().casefold()}
    figure = _typed(seen, line.unit) if isinstance(seen, str) else _given(seen)
    return figure is not None and abs(figure - line.value) <= _SAME_FIGURE


def _typed(text: str, unit: str) -> float | None:
    """The figure in `text`, or None if it is no figure in `unit`."""
    match = _FIGURE.match(text.strip())
    if match is None:
        return None
    behind = text.strip()[match.end() :].strip().casefold()
    if behind not in {"", unit.casefold(), "°" if unit == "degrees" else ""}:
        return None
    return float(match[0].replace(",", ".").replace("\u2212", "-"))


def _given(seen: float | bool) -> float | None:
    try:
        return None if isinstance(seen, bool) else number(seen, "what the unit shows")
    except TimingError:
        return None


def _as_text(seen: str | float | bool) -> str:
    if isinstance(seen, str):
        return seen.strip()
    return {True: "on", False: "off"}[seen] if isinstance(seen, bool) else f"{seen:g}"
