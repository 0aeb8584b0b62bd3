"""From the figures of a file to a log that the maths can use, and what is to be said about it.

Where a limit here parts a slip from a fault of the whole file, it is common practice without a source.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from jobs.roadlogs.columns import PRESSURES, ColumnMap
from jobs.roadlogs.reading import BadRows, Figures
from jobs.roadlogs.refusals import LogRefusedError
from timing.roadlog import RoadLogSettings, check_clock, spread_ties
from timing.units import HIGHEST_BAROMETER_KPA, convert

USUAL = RoadLogSettings()
SECONDS = {"s": 1.0, "ms": 0.001, "min": 60.0, "clock": 1.0}
# Nothing that burns petrol from a spark turns faster, and no road car's manifold holds more.
FASTEST_RPM = 20_000.0
MOST_MANIFOLD_KPA = 400.0
# A manifold holds at least a few kPa, however shut the throttle is.
LEAST_MANIFOLD_KPA = 3.0
# In between lies what a manifold holds while an engine is driven.
LIKELY_KPA = (12.0, 300.0)
# More rows than this that cannot be right are no slips: the column or its unit is another.
MOST_SLIPS = 0.01
# A clock that leaps so far was set while the log ran.
JUMP_S = 3600.0


@dataclass(frozen=True, slots=True)
class Converted:
    """The log on its own clock, which begins at nought. Columns are of equal length; NaN where a row says nothing.

    `rpm` at the crank, `vacuum` in kPa below atmosphere, `others` by role in canonical units. `remarks` are sentences
    about what was found odd and kept.
    """

    t_s: NDArray[np.float64]
    rpm: NDArray[np.float32]
    vacuum: NDArray[np.float32]
    others: dict[str, NDArray[np.float32]]
    first_t_s: float
    remarks: list[str]
    bad: BadRows


def converted(figures: Figures, mapped: ColumnMap, names: list[str], *, barometer_kpa: float) -> Converted:
    """The rows of a file as a log.

    Raises
    ------
    LogRefusedError
        If a column cannot be what it is called, the clock runs backwards, or the engine never runs.
    """
    called = {role: f"column ‘{names[one.column]}’" for role, one in mapped.items()}
    t_s = figures.t * SECONDS[mapped["time"].unit]
    rpm = figures.columns["rpm"]
    vacuum = _vacuum(figures.columns["manifold"], mapped["manifold"].unit, called["manifold"], barometer_kpa)
    bad, rows = figures.bad, figures.row

    is_good = _good_speeds(rpm, called["rpm"], rows, bad)
    is_good &= _good_vacua(vacuum, called["manifold"], rows, bad, is_good, barometer_kpa)
    remarks = _remark_on_cut(figures)
    is_good &= _good_times(t_s, called["time"], rows, bad, is_good)
    if is_good.all():
        others = {role: figures.columns[role] for role in figures.columns}
    else:
        t_s, rpm, vacuum, rows = t_s[is_good], rpm[is_good], vacuum[is_good], rows[is_good]
        others = {role: column[is_good] for role, column in figures.columns.items()}
    if not (rpm >= USUAL.lowest_rpm).any():
        raise LogRefusedError(
            f"This log never meets the map: {called['rpm']} stays below {USUAL.lowest_rpm:g} rpm, "
            f"at most {float(rpm.max()):,.0f}."
        )
    if t_s.size < 2 or t_s[-1] <= t_s[0]:
        raise LogRefusedError(f"The time never moves on in {called['time']}.")
    remarks += _remarks_on_clock(t_s, rows)
    first = float(t_s[0])
    return Converted(
        t_s=spread_ties(t_s) - first,
        rpm=rpm,
        vacuum=vacuum,
        others={role: _canonical(column, mapped[role].unit) for role, column in others.items() if role in _OTHERS},
        first_t_s=first,
        remarks=remarks,
        bad=bad,
    )


_OTHERS = frozenset({"throttle", "coolant", "air", "knock", "mixture", "speed", "gear"})


def _canonical(column: NDArray[np.float32], unit: str) -> NDArray[np.float32]:
    if unit == "°F":
        return ((column - np.float32(32.0)) / np.float32(1.8)).astype(np.float32)
    return column


def _vacuum(column: NDArray[np.float32], unit: str, called: str, barometer_kpa: float) -> NDArray[np.float32]:
    """Vacuum from either kind of gauge. [kPa below atmosphere]"""
    kind, _, pressure_unit = unit.partition(" ")
    factor = np.float32(convert(1.0, pressure_unit, "kPa"))
    kpa = column * factor
    _refuse_another_unit(kpa, column, kind, pressure_unit, called, barometer_kpa)
    return kpa if kind == "vacuum" else np.float32(barometer_kpa) - kpa


def _refuse_another_unit(
    kpa: NDArray[np.float32], column: NDArray[np.float32], kind: str, unit: str, called: str, barometer_kpa: float
) -> None:
    """Nothing where most figures can be the pressure of a manifold."""
    some = kpa[:: max(1, kpa.size // 10_000)]
    low, middle, high = (float(value) for value in np.percentile(some, (1, 50, 99)))
    if kind == "absolute":
        is_likely = LIKELY_KPA[0] <= middle <= LIKELY_KPA[1] and high > 20.0
    else:
        is_likely = barometer_kpa - MOST_MANIFOLD_KPA <= low and middle <= HIGHEST_BAROMETER_KPA
    if is_likely:
        return
    figure = float(np.median(column[:: max(1, column.size // 10_000)]))
    others = []
    for other in PRESSURES:
        at = figure * float(convert(1.0, other, "kPa"))
        fits = 20.0 <= at <= 110.0 if kind == "absolute" else 0.5 <= at <= 90.0
        if other != unit and fits:
            others.append(other)
    hint = f" Is it in {' or '.join(others)}?" if others else " Is it another column?"
    what = "absolute pressure" if kind == "absolute" else "vacuum"
    if kind == "vacuum" and middle > HIGHEST_BAROMETER_KPA:
        raise LogRefusedError(
            f"In {called} most rows show {figure:,.4g} {unit} of vacuum, more than the barometer.{hint}"
        )
    raise LogRefusedError(f"In {called} most rows show {figure:,.4g} {unit}. No manifold has that {what}.{hint}")


def _good_speeds(rpm: NDArray[np.float32], called: str, rows: NDArray[np.int32], bad: BadRows) -> NDArray[np.bool_]:
    is_good = (rpm >= 0.0) & (rpm <= FASTEST_RPM)
    return _noted(
        is_good, rows, bad, called, lambda place: f"{called}: {float(rpm[place]):,.5g} rpm is no engine speed"
    )


def _good_vacua(
    vacuum: NDArray[np.float32],
    called: str,
    rows: NDArray[np.int32],
    bad: BadRows,
    counted: NDArray[np.bool_],
    barometer_kpa: float,
) -> NDArray[np.bool_]:
    is_good = (vacuum <= barometer_kpa - LEAST_MANIFOLD_KPA) & (vacuum >= barometer_kpa - MOST_MANIFOLD_KPA)

    def reason(place: int) -> str:
        kpa = float(vacuum[place])
        if kpa > 0:
            return f"{called}: vacuum of {kpa:,.4g} kPa, beyond the barometer at {barometer_kpa:,.4g} kPa"
        return f"{called}: {barometer_kpa - kpa:,.4g} kPa is no manifold pressure"

    return _noted(is_good | ~counted, rows, bad, called, reason)


def _good_times(
    t_s: NDArray[np.float64], called: str, rows: NDArray[np.int32], bad: BadRows, counted: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Those rows that do not run backwards; a log with many such is two logs, or its clock was set."""
    places = np.flatnonzero(counted)
    is_good = np.ones(t_s.shape, dtype=np.bool_)
    if not places.size:
        return is_good
    check = check_clock(t_s[places])
    behind = places[check.backwards]
    if behind.size > max(1.0, MOST_SLIPS * places.size):
        first = int(behind[0])
        before = float(t_s[places[: check.backwards[0]]].max())
        raise LogRefusedError(
            f"Row {rows[first]:,}: the time runs backwards in {called}, from {before:,.10g} s to {t_s[first]:,.10g} s. "
            "Cut the log there, or choose another column."
        )
    is_good[behind] = False
    return _noted(is_good, rows, bad, called, lambda place: f"{called}: {t_s[place]:,.10g} s runs backwards")


def _noted(
    is_good: NDArray[np.bool_], rows: NDArray[np.int32], bad: BadRows, called: str, reason: Callable[[int], str]
) -> NDArray[np.bool_]:
    """`is_good`, with its exceptions among the bad rows; refused where they are no exceptions."""
    faults = np.flatnonzero(~is_good)
    if faults.size > max(1.0, MOST_SLIPS * is_good.size):
        raise LogRefusedError(
            f"{faults.size:,} of {is_good.size:,} rows cannot be right. "
            f"Row {rows[faults[0]]:,}, {reason(int(faults[0]))}."
        )
    for place in faults:
        bad.add(int(rows[place]), reason(int(place)))
    return is_good


def _remark_on_cut(figures: Figures) -> list[str]:
    if not figures.is_cut_off:
        return []
    return ["The file was cut off in the middle of its last row. Everything before it is here."]


def _remarks_on_clock(t_s: NDArray[np.float64], rows: NDArray[np.int32]) -> list[str]:
    check = check_clock(t_s)
    remarks = []
    if check.twice.size:
        remarks.append(
            f"Row {rows[check.twice[0]]:,}: the same time as the row before. "
            f"{check.twice.size:,} such rows were spread evenly."
        )
    if check.jump_s > JUMP_S:
        remarks.append(f"Row {rows[check.jump_at]:,}: the clock then jumps ahead by {check.jump_s:,.0f} s.")
    if check.gaps.size:
        remarks.append(
            f"Row {rows[check.gaps[0]]:,}: a gap follows. "
            f"{check.gaps.size:,} gap{'s' if check.gaps.size > 1 else ''}, {check.gap_s:,.0f} s in all, not counted."
        )
    return remarks
