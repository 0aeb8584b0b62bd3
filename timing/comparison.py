"""What changed from one map to another: figure by figure, and in one sentence."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# Two figures closer than this are one: a thousandth of the finest step of a unit, far above floating-point noise.
_SAME = 1e-4

Spoken = Callable[[float], str]
"""A pressure in kPa, in words with its unit."""


def in_kpa(kpa: float) -> str:
    """The usual way to say a pressure: '40 kPa'."""
    return f"{kpa:.4g} kPa"


@dataclass(frozen=True, slots=True)
class CurveRow:
    """The speed curve of both maps at one speed.

    Attributes
    ----------
    rpm : float
        A node of either curve. [rpm at the crank]
    before, after : float
        Advance counted from each map's base. [degrees of crank]
    change : float
        After minus before; positive is more advance. [degrees of crank]
    """

    rpm: float
    before: float
    after: float
    change: float


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting that differs, in words: what it is, how it was and how it is now."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed from one map to another.

    Attributes
    ----------
    curve : tuple of CurveRow
        Every node of either curve, changed or not.
    settings : tuple of Setting
        Everything besides the curve that differs.
    sentence : str
        All of it in one sentence, without a full stop.
    """

    curve: tuple[CurveRow, ...]
    settings: tuple[Setting, ...]
    sentence: str

    @property
    def same(self) -> bool:
        """Whether nothing differs."""
        return not self.settings and not any(row.change for row in self.curve)


def compare(before: IgnitionMap, after: IgnitionMap, pressure: Spoken = in_kpa) -> Comparison:
    """What changed from `before` to `after`.

    Differences below a ten-thousandth of a degree, rpm, kPa or ms are none.

    Parameters
    ----------
    before, after : IgnitionMap
        Two maps; their nodes may stand at different speeds.
    pressure : callable
        How a pressure is said, so that a person who thinks in inches of mercury reads inches of mercury.
    """
    curve = _curve_rows(before.curve, after.curve)
    settings = _settings(before, after, pressure)
    phrases = _curve_phrases(curve)
    phrases += [f"{setting.name} {setting.after} instead of {setting.before}" for setting in settings]
    if not phrases:
        return Comparison(curve, settings, "nothing changed")
    return Comparison(curve, settings, ", ".join(phrases) + ", rest as before")


def _curve_rows(before: AdvanceCurve, after: AdvanceCurve) -> tuple[CurveRow, ...]:
    speeds = np.union1d(before.rpm, after.rpm)
    was, now = np.asarray(before.advance(speeds)), np.asarray(after.advance(speeds))
    return tuple(
        CurveRow(float(rpm), float(a), float(b), 0.0 if abs(b - a) < _SAME else float(b - a))
        for rpm, a, b in zip(speeds, was, now, strict=True)
    )


def _curve_phrases(rows: Sequence[CurveRow]) -> list[str]:
    phrases = []
    at = 0
    for sign, group in groupby(rows, key=lambda row: np.sign(row.change)):
        stretch = list(group)
        first, last = at, at + len(stretch) - 1
        at += len(stretch)
        if sign:
            phrases.append(f"{_amount(stretch)} {_where(rows, first, last)}")
    return phrases


def _amount(stretch: Sequence[CurveRow]) -> str:
    sizes = [abs(row.change) for row in stretch]
    most = max(sizes)
    up_to = "" if most - min(sizes) < _SAME else "up to "
    return f"{up_to}{_degrees(most)} {'more' if stretch[0].change > 0 else 'out'}"


def _where(rows: Sequence[CurveRow], first: int, last: int) -> str:
    low, high = rows[first].rpm, rows[last].rpm
    if first == 0 and last == len(rows) - 1:
        return "throughout"
    if first == 0:
        return f"up to {high:g} rpm"
    if last == len(rows) - 1:
        return f"from {low:g} rpm up"
    return f"at {low:g} rpm" if first == last else f"between {low:g} and {high:g} rpm"


def _settings(before: IgnitionMap, after: IgnitionMap, pressure: Spoken) -> tuple[Setting, ...]:
    said = [
        ("base timing", _base(before.base_deg), _base(after.base_deg)),
        *_vacuum(before.vacuum, after.vacuum, pressure),
        ("boost retard", _boost(before.boost, pressure), _boost(after.boost, pressure)),
        ("dwell", _figure(before.dwell_ms, "ms"), _figure(after.dwell_ms, "ms")),
        ("rev limit", _figure(before.rev_limit_rpm, "rpm"), _figure(after.rev_limit_rpm, "rpm")),
        ("manner of the rev limit", before.rev_limit_manner or "not set", after.rev_limit_manner or "not set"),
        ("repeated sparks", _on(before.repeated_sparks), _on(after.repeated_sparks)),
        ("trigger", before.trigger or "not set", after.trigger or "not set"),
    ]
    return tuple(Setting(name, was, now) for name, was, now in said if was != now)


def _vacuum(
    before: VacuumRamp | VacuumTable | None, after: VacuumRamp | VacuumTable | None, pressure: Spoken
) -> list[tuple[str, str, str]]:
    if isinstance(before, VacuumRamp) and isinstance(after, VacuumRamp):
        return [
            ("vacuum advance begins at", pressure(before.start), pressure(after.start)),
            ("vacuum advance is full at", pressure(before.full), pressure(after.full)),
            ("full vacuum advance", _degrees(before.full_deg), _degrees(after.full_deg)),
            ("vacuum advance acts from", f"{before.from_rpm:g} rpm", f"{after.from_rpm:g} rpm"),
        ]
    if isinstance(before, VacuumTable) and isinstance(after, VacuumTable):
        return _tables(before, after)
    return [("vacuum part", _vacuum_kind(before, pressure), _vacuum_kind(after, pressure))]


def _tables(before: VacuumTable, after: VacuumTable) -> list[tuple[str, str, str]]:
    if before.rpm == after.rpm and before.vacuum == after.vacuum:
        changes = np.array(after.degrees) - np.array(before.degrees)
        changed = np.abs(changes) >= _SAME
        if not changed.any():
            return []
        most = changes.flat[np.abs(changes).argmax()]
        cells = f"{changed.sum()} cell{'s' if changed.sum() > 1 else ''}"
        return [("vacuum table", "as it was", f"{cells} up to {_degrees(abs(most))} {'more' if most > 0 else 'out'}")]
    return [("vacuum table", _table_size(before), _table_size(after))]


def _table_size(table: VacuumTable) -> str:
    return f"{len(table.vacuum)} rows of {len(table.rpm)}, up to {_degrees(float(np.max(table.degrees)))}"


def _vacuum_kind(part: VacuumRamp | VacuumTable | None, pressure: Spoken) -> str:
    if part is None:
        return "none"
    if isinstance(part, VacuumRamp):
        return f"a ramp of {_degrees(part.full_deg)} from {pressure(part.start)} to {pressure(part.full)}"
    return f"a table of {_table_size(part)}"


def _boost(part: BoostRetard | None, pressure: Spoken) -> str:
    if part is None:
        return "none"
    return " ".join(
        f"{_degrees(degrees)} at {pressure(boost)}" for boost, degrees in zip(part.boost, part.degrees, strict=True)
    )


def _base(degrees: float) -> str:
    return _degrees(degrees) if degrees >= 0 else f"{_degrees(-degrees)} after top dead centre"


def _degrees(degrees: float) -> str:
    text = f"{round(degrees, 3):g}"
    return f"{text} degree" if text == "1" else f"{text} degrees"


def _figure(value: float | None, unit: str) -> str:
    return "not set" if value is None else f"{round(value, 3):g} {unit}"


def _on(value: bool) -> str:
    return "on" if value else "off"
