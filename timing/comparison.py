"""What changed from one map to another: figure by figure, and in one sentence."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import NamedTuple, TypeAlias

import numpy as np

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# Figures of a map's record are whole millionths: two of them are one, or at least a millionth apart.
_SAME = 5e-7
_DECIMALS = 6

Spoken: TypeAlias = Callable[[float], str]
"""A pressure in kPa, as text with its unit."""

_VacuumPart: TypeAlias = VacuumRamp | VacuumTable | None


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
    """One setting that differs, as text: what it is, how it was and how it is now."""

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
        """Whether nothing differs: exactly then both maps have the same content hash."""
        return not self.settings and not any(row.change for row in self.curve)


def compare(before: IgnitionMap, after: IgnitionMap, pressure: Spoken = in_kpa) -> Comparison:
    """What changed from `before` to `after`.

    Both are compared as they are recorded, to a millionth of a degree, rpm, kPa or ms: what their content hashes
    tell apart is named, and nothing else.

    Parameters
    ----------
    before, after : IgnitionMap
        Two maps; their nodes may stand at different speeds and vacua.
    pressure : callable
        How a pressure in kPa is said, so that a person who thinks in inches of mercury reads inches of mercury. Two
        pressures that it does not tell apart are said in kPa with all their decimals.

    Returns
    -------
    Comparison
        Both curves at the nodes of either, the other settings that differ, and all of it in one sentence.
    """
    before, after = (IgnitionMap.from_canonical(one.canonical()) for one in (before, after))
    curve = _curve_rows(before.curve, after.curve)
    settings = tuple(_settings(before, after, pressure))
    if before.curve != after.curve and not any(row.change for row in curve):
        settings = (_nodes("points of the speed curve", before.curve.rpm, after.curve.rpm), *settings)
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
    most, least = max(sizes), min(sizes)
    up_to = "" if _change_of(most) == _change_of(least) else "up to "
    return f"{up_to}{_more_or_out(most if stretch[0].change > 0 else -most)}"


def _where(rows: Sequence[CurveRow], first: int, last: int) -> str:
    low, high = _number(rows[first].rpm), _number(rows[last].rpm)
    if first == 0 and last == len(rows) - 1:
        return "throughout"
    if first == 0:
        return f"up to {high} rpm"
    if last == len(rows) - 1:
        return f"from {low} rpm up"
    return f"at {low} rpm" if first == last else f"between {low} and {high} rpm"


def _settings(before: IgnitionMap, after: IgnitionMap, pressure: Spoken) -> Iterator[Setting]:
    if before.base_deg != after.base_deg:
        yield _setting("base timing", before.base_deg, after.base_deg, _base)
    yield from _vacuum_settings(before.vacuum, after.vacuum, pressure)
    if before.boost != after.boost:
        yield _boost_setting(before.boost, after.boost, pressure)
    if before.dwell_ms != after.dwell_ms:
        yield _setting("dwell", before.dwell_ms, after.dwell_ms, lambda ms: f"{_number(ms)} ms")
    if before.rev_limit_rpm != after.rev_limit_rpm:
        yield _setting("rev limit", before.rev_limit_rpm, after.rev_limit_rpm, _speed)
    for name, was, now in (
        ("limiter", before.rev_limit_manner, after.rev_limit_manner),
        ("repeated sparks", _on_or_off(before.repeated_sparks), _on_or_off(after.repeated_sparks)),
        ("trigger", _trigger(before.trigger), _trigger(after.trigger)),
    ):
        if was != now:
            yield Setting(name, was or "not set", now or "not set")


def _setting(name: str, before: float | None, after: float | None, text: Callable[[float], str]) -> Setting:
    return Setting(name, *("not set" if value is None else text(value) for value in (before, after)))


def _vacuum_settings(before: _VacuumPart, after: _VacuumPart, pressure: Spoken) -> Iterator[Setting]:
    if before == after:
        return
    if isinstance(before, VacuumRamp) and isinstance(after, VacuumRamp):
        for name, kpa, other_kpa in (
            ("vacuum advance begins at", before.start, after.start),
            ("vacuum advance is full at", before.full, after.full),
        ):
            if kpa != other_kpa:
                yield Setting(name, *_pressures_apart(kpa, other_kpa, pressure))
        if before.full_deg != after.full_deg:
            yield _setting("full vacuum advance", before.full_deg, after.full_deg, _degrees)
        if before.from_rpm != after.from_rpm:
            yield _setting("vacuum advance acts from", before.from_rpm, after.from_rpm, _speed)
    elif isinstance(before, VacuumTable) and isinstance(after, VacuumTable):
        yield from _table_settings(before, after, pressure)
    else:
        was, now = (_vacuum_kind(part, pressure) for part in (before, after))
        if before is not None and after is not None:
            change = _largest_change(before, after)
            now += f" ({_change_text(change, pressure)})" if abs(change.degrees) >= _SAME else ""
        yield Setting("vacuum part", was, now)


def _table_settings(before: VacuumTable, after: VacuumTable, pressure: Spoken) -> Iterator[Setting]:
    if before.rpm == after.rpm and before.vacuum == after.vacuum:
        changes = np.array(after.degrees) - np.array(before.degrees)
        count = int((np.abs(changes) >= _SAME).sum())
        most = float(changes.flat[np.abs(changes).argmax()])
        cells = f"{count} cell{'s' if count > 1 else ''}"
        yield Setting("vacuum table", "as it was", f"{cells} up to {_more_or_out(most)}")
        return
    if before.rpm != after.rpm:
        yield _nodes("speeds of the vacuum table", before.rpm, after.rpm)
    if before.vacuum != after.vacuum:
        told = zip(*(_pressure_lists(part.vacuum, pressure) for part in (before, after)), strict=True)
        # In the person's own unit where that tells the two lists apart, else in kPa with all their decimals.
        yield next(Setting("rows of the vacuum table", was, now) for was, now in told if was != now)
    change = _largest_change(before, after)
    if abs(change.degrees) >= _SAME:
        yield Setting("vacuum table", "as it was", _change_text(change, pressure))


class _Change(NamedTuple):
    """The largest change of a vacuum part, and where. [degrees of crank], [rpm at the crank], [kPa]"""

    degrees: float
    rpm: float
    vacuum: float


def _largest_change(before: VacuumRamp | VacuumTable, after: VacuumRamp | VacuumTable) -> _Change:
    """Between two vacuum parts, at the nodes of both: each is bilinear in between, and so is their difference."""
    rpm = np.unique([*_speeds_of(before), *_speeds_of(after)])
    vacuum = np.unique([*_vacua_of(before), *_vacua_of(after)])
    change = _added(after, rpm, vacuum) - _added(before, rpm, vacuum)
    row, column = np.unravel_index(int(np.abs(change).argmax()), change.shape)
    return _Change(float(change[row, column]), float(rpm[column]), float(vacuum[row]))


def _added(part: VacuumRamp | VacuumTable, rpm: FloatArray, vacuum: FloatArray) -> FloatArray:
    return np.asarray(part.advance(rpm=rpm[np.newaxis, :], vacuum=vacuum[:, np.newaxis]))


def _speeds_of(part: VacuumRamp | VacuumTable) -> tuple[float, ...]:
    if isinstance(part, VacuumTable):
        return part.rpm
    # A ramp that acts from a speed on jumps there: the last speed without it is the one just below.
    return (float(np.nextafter(part.from_rpm, 0.0)), part.from_rpm)


def _vacua_of(part: VacuumRamp | VacuumTable) -> tuple[float, ...]:
    return part.vacuum if isinstance(part, VacuumTable) else (part.start, part.full)


def _change_text(change: _Change, pressure: Spoken) -> str:
    at_rpm = f"{_number(change.rpm)} rpm and " if change.rpm else ""
    return f"up to {_more_or_out(change.degrees)}, at {at_rpm}{pressure(change.vacuum)}"


def _vacuum_kind(part: _VacuumPart, pressure: Spoken) -> str:
    if part is None:
        return "none"
    if isinstance(part, VacuumRamp):
        return f"a ramp of {_degrees(part.full_deg)} from {pressure(part.start)} to {pressure(part.full)}"
    most = _degrees(float(np.max(part.degrees)))
    return f"a table of {len(part.vacuum)} rows of {len(part.rpm)}, up to {most}"


def _boost_setting(before: BoostRetard | None, after: BoostRetard | None, pressure: Spoken) -> Setting:
    was, now = _boost(before, pressure), _boost(after, pressure)
    if was == now:
        was, now = _boost(before, _exact_kpa), _boost(after, _exact_kpa)
    return Setting("boost retard", was, now)


def _boost(part: BoostRetard | None, pressure: Spoken) -> str:
    if part is None:
        return "none"
    return " ".join(
        f"{_degrees(degrees)} at {pressure(boost)}" for boost, degrees in zip(part.boost, part.degrees, strict=True)
    )


def _nodes(name: str, before: Sequence[float], after: Sequence[float]) -> Setting:
    was, now = (f"{', '.join(map(_number, rpm))} rpm" for rpm in (before, after))
    return Setting(name, was, now)


def _pressures_apart(before: float, after: float, pressure: Spoken) -> tuple[str, str]:
    was, now = pressure(before), pressure(after)
    return (was, now) if was != now else (_exact_kpa(before), _exact_kpa(after))


def _pressure_lists(vacua: Sequence[float], pressure: Spoken) -> tuple[str, str]:
    return ", ".join(map(pressure, vacua)), ", ".join(map(_exact_kpa, vacua))


def _exact_kpa(kpa: float) -> str:
    return f"{_number(kpa)} kPa"


def _trigger(trigger: str | None) -> str | None:
    """What the trade calls it: whoever sets points says points."""
    return "points" if trigger == "contact breaker" else trigger


def _base(degrees: float) -> str:
    return _degrees(degrees) if degrees >= 0 else f"{_degrees(-degrees)} after top dead centre"


def _more_or_out(degrees: float) -> str:
    return f"{_change_of(abs(degrees))} {'more' if degrees > 0 else 'out'}"


def _change_of(degrees: float) -> str:
    """A change to a hundredth, which nobody reads off a strobe; a smaller one with all its decimals."""
    return _degrees(round(degrees, 2) or degrees)


def _degrees(degrees: float) -> str:
    text = _number(degrees)
    return f"{text} degree" if text == "1" else f"{text} degrees"


def _speed(rpm: float) -> str:
    return f"{_number(rpm)} rpm"


def _number(value: float) -> str:
    """A figure with as many decimals as the record keeps, and none that are nought."""
    text = f"{value:.{_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _on_or_off(value: bool) -> str:
    return "on" if value else "off"
