"""Findings about the advance itself: how much there is, how fast it comes, and what it does at idle."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from timing.inputs import FloatArray
from timing.review.case import Beyond, Case, Missing
from timing.review.finding import Finding, Kind, degrees, speed, speeds
from timing.vacuum import VacuumRamp, VacuumTable

# A curve that falls or rises by less than this between two nodes is level: rounding of a unit's step, or of typing.
_LEVEL_DEG = 1e-6


def full_load(case: Case) -> Iterator[Finding | Missing]:
    """Total advance with the throttle wide open, against the engine's limit or the usual one."""
    own = case.engine.full_load_limit_deg
    limit = case.limits.full_load_deg if own is None else own
    beyond = case.above(limit, case.full_load_rows)
    if beyond is None:
        return
    whose = "the usual limit" if own is None else "this engine's limit"
    yield Finding(
        Kind.STOP,
        "full-load-advance",
        f"At full load the total advance is {degrees(beyond.degrees)} at {speed(beyond.at_rpm)}; {whose} is"
        f" {degrees(limit)}. Take out {degrees(beyond.degrees - limit)}, or write down why this engine takes it.",
        "Too much advance at full load burns the charge too early: the engine pinks, and pistons and bearings suffer.",
        rpm=beyond.rpm,
        vacuum=beyond.vacuum,
    )


def light_load(case: Case) -> Iterator[Finding | Missing]:
    """Total advance at part throttle, against the engine's own limit."""
    limit = case.engine.light_load_limit_deg
    if limit is None:
        return
    beyond = case.above(limit, ~case.full_load_rows)
    if beyond is not None:
        yield Finding(
            Kind.STOP,
            "light-load-advance",
            f"At light load the total advance is {degrees(beyond.degrees)} {_place(case, beyond)}; this engine's"
            f" limit is {degrees(limit)}. Take out {degrees(beyond.degrees - limit)} there, from the vacuum part"
            " first.",
            "Beyond its best point more advance costs power and heats the engine, and it pinks when the load comes on.",
            rpm=beyond.rpm,
            vacuum=beyond.vacuum,
        )


def anywhere(case: Case) -> Iterator[Finding | Missing]:
    """Total advance at any speed and load."""
    limit = case.limits.anywhere_deg
    beyond = case.above(limit)
    if beyond is not None:
        yield Finding(
            Kind.STOP,
            "total-advance",
            f"The total advance is {degrees(beyond.degrees)} {_place(case, beyond)}. No road engine wants more than"
            f" {degrees(limit)} anywhere: look for a slipped digit, or a base counted twice.",
            "So early a spark works against the crank, and the rotor may be far from its post.",
            rpm=beyond.rpm,
            vacuum=beyond.vacuum,
        )


def cranking(case: Case) -> Iterator[Finding | Missing]:
    """Total advance while the starter turns the engine."""
    limits = case.limits
    rpm = np.append(case.rpm[case.rpm < limits.cranking_rpm], limits.cranking_rpm)
    total = np.asarray(case.map.total_advance().advance(rpm=rpm, vacuum=limits.full_load_kpa))
    if total.max() > limits.cranking_deg + _LEVEL_DEG:
        worst = float(total.max())
        yield Finding(
            Kind.CAUTION,
            "cranking-advance",
            f"Below {speed(limits.cranking_rpm)}, where the starter turns the engine, the total advance is"
            f" {degrees(worst)}. Keep it to {degrees(limits.cranking_deg)} or less there.",
            "A spark well before top dead centre at cranking speed kicks back: it strains the starter, and a"
            " starting handle can break a wrist.",
            rpm=(0.0, limits.cranking_rpm),
        )


def slope(case: Case) -> Iterator[Finding | Missing]:
    """Stretches of the speed curve that are steeper than any spring let them be."""
    for span, steepest in _stretches(case, case.map.curve.slope() - case.limits.slope_deg, _LEVEL_DEG):
        yield Finding(
            Kind.CAUTION,
            "steep-slope",
            f"The speed curve rises by {steepest + case.limits.slope_deg:.3g}° per 1000 rpm {speeds(span)}; more"
            f" than {case.limits.slope_deg:g}° is unusual. Spread the rise over more speed.",
            "A small change of speed then moves the spark a lot: the engine surges, and a reading error counts double.",
            rpm=span,
        )


def dip(case: Case) -> Iterator[Finding | Missing]:
    """Stretches where the speed curve falls, apart from an intended fall through idle."""
    idle = case.engine.idle_rpm
    for span, _ in _stretches(case, -case.map.curve.slope(), _LEVEL_DEG):
        before, after = (float(case.map.curve.advance(rpm)) for rpm in span)
        if idle is not None and span[1] <= idle + case.limits.idle_band_rpm:
            yield Finding(
                Kind.NOTE,
                "falls-through-idle",
                f"The speed curve falls from {degrees(before)} to {degrees(after)} {speeds(span)}, below or through"
                " idle. Leave it if it is meant to hold the idle steady.",
                "More advance when the engine slows lifts it again: some use that on purpose.",
                rpm=span,
            )
        else:
            yield Finding(
                Kind.CAUTION,
                "dip",
                f"The speed curve falls from {degrees(before)} to {degrees(after)} {speeds(span)}. Check for a"
                " mistyped node; if it is meant, write down why.",
                "Bob weights never gave less advance at more speed; a dip is nearly always a slip.",
                rpm=span,
            )


def stops_rising(case: Case) -> Iterator[Finding | Missing]:
    """A speed curve that adds nothing at higher speed."""
    start, curve = case.limits.rising_from_rpm, case.map.curve
    used = case.rpm[case.rpm > start]
    there = float(curve.advance(start))
    highest = max([float(curve.advance(rpm)) for rpm in used], default=there)
    limit = case.map.rev_limit_rpm
    if highest > there + _LEVEL_DEG or (limit is not None and limit <= start):
        return
    yield Finding(
        Kind.CAUTION,
        "curve-stops-rising",
        f"The speed curve does not rise above {speed(start)}: it adds {degrees(there)} there and never more. Check"
        " that all nodes were entered.",
        "The charge takes much the same time to burn at any speed, so a faster engine needs an earlier spark.",
        rpm=(start, float(max(case.rpm[-1], start))),
    )


def hunting(case: Case) -> Iterator[Finding | Missing]:
    """A curve that rises across the idle speed."""
    idle = case.engine.idle_rpm
    if idle is None:
        yield Missing("missing-idle-speed", "the idle speed", "whether the advance makes the engine hunt at idle")
        return
    band = case.limits.idle_band_rpm
    span = (max(0.0, idle - band), idle + band)
    low, high = (float(case.map.curve.advance(rpm)) for rpm in span)
    if high - low > case.limits.idle_rise_deg + _LEVEL_DEG:
        yield Finding(
            Kind.CAUTION,
            "idle-hunting",
            f"The speed curve rises by {degrees(high - low)} {speeds(span)}, across the idle at {speed(idle)}. Keep"
            f" it level there, or within {degrees(case.limits.idle_rise_deg)}.",
            "More advance lifts the idle and more idle adds advance: the engine hunts up and down.",
            rpm=span,
        )


def steps(case: Case) -> Iterator[Finding | Missing]:
    """Jumps between neighbouring cells of the vacuum part, or where it is switched on."""
    limit, part = case.limits.step_deg, case.map.vacuum
    if isinstance(part, VacuumRamp):
        if part.from_rpm > 0.0 and part.full_deg > limit + _LEVEL_DEG:
            yield Finding(
                Kind.NOTE,
                "vacuum-comes-at-once",
                f"At {speed(part.from_rpm)} up to {degrees(part.full_deg)} of vacuum advance come all at once; more"
                f" than {degrees(limit)} is felt. Set it just above idle, where nobody drives.",
                "A jump in advance is a jump in torque.",
                rpm=(part.from_rpm, part.from_rpm),
            )
    elif isinstance(part, VacuumTable):
        yield from _steps_in_table(case, part, limit)


def _steps_in_table(case: Case, part: VacuumTable, limit: float) -> Iterator[Finding]:
    table = np.array(part.degrees)
    rpm, vacuum = np.array(part.rpm), np.array(part.vacuum)
    found = []
    for axis in (0, 1):
        size = np.abs(np.diff(table, axis=axis))
        for row, column in zip(*np.nonzero(size > limit + _LEVEL_DEG), strict=True):
            other = (row + 1, column) if axis == 0 else (row, column + 1)
            found.append((float(size[row, column]), (row, column), other))
    if not found:
        return
    worst, here, there = max(found, key=lambda step: step[0])
    rows = [cell[0] for _, *cells in found for cell in cells]
    columns = [cell[1] for _, *cells in found for cell in cells]
    count = "One step" if len(found) == 1 else f"{len(found)} steps"
    yield Finding(
        Kind.CAUTION,
        "step-between-cells",
        f"{count} between neighbouring cells of the vacuum part {'is' if len(found) == 1 else 'are'} larger than"
        f" {degrees(limit)}; the largest is {degrees(worst)}, from {_cell(case, rpm, vacuum, here)} to"
        f" {_cell(case, rpm, vacuum, there)}. Smooth it, or check for a mistyped cell.",
        "The engine passes from one cell to the next in a moment, and feels the step as a jerk.",
        rpm=(float(rpm[min(columns)]), float(rpm[max(columns)])),
        vacuum=(float(vacuum[min(rows)]), float(vacuum[max(rows)])),
    )


def octane(case: Case) -> Iterator[Finding | Missing]:
    """Fuel of less octane than the usual full-load limits are thought for."""
    fuel, ordinary = case.engine.fuel_ron, case.limits.ordinary_ron
    if fuel is None:
        yield Missing("missing-octane", "the octane of the fuel", "how close to pinking the full-load advance is")
    elif fuel < ordinary:
        yield Finding(
            Kind.CAUTION,
            "low-octane",
            f"The owner's fuel has {fuel:g} RON, less than {ordinary:g}. Begin with less advance at full load, and"
            " prove it on the road with a hot engine before adding any.",
            "The less octane, the sooner the charge lights by itself.",
        )


def _stretches(case: Case, excess: FloatArray, noise: float) -> Iterator[tuple[tuple[float, float], float]]:
    """Ranges of neighbouring stretches of the speed curve where `excess` is above nought, and the most there is."""
    nodes = case.map.curve.rpm
    begun, most = None, 0.0
    for (low, high), over in zip(pairwise(nodes), excess.tolist(), strict=True):
        if over > noise:
            begun, most = (low, over) if begun is None else (begun, max(most, over))
        elif begun is not None:
            yield (begun, low), most
            begun = None
        last = high
    if begun is not None:
        yield (begun, last), most


def _place(case: Case, beyond: Beyond) -> str:
    if beyond.at_vacuum < 0.0:
        return f"at {speed(beyond.at_rpm)} and {case.pressure(-beyond.at_vacuum)} of boost"
    return f"at {speed(beyond.at_rpm)} and {case.pressure(beyond.at_vacuum)} of vacuum"


def _cell(case: Case, rpm: FloatArray, vacuum: FloatArray, cell: tuple[int, int]) -> str:
    return f"{speed(rpm[cell[1]])} and {case.pressure(float(vacuum[cell[0]]))}"
