"""Findings about the advance itself: how much there is, how fast it comes, and what it does at idle."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from timing.inputs import FloatArray
from timing.review.case import Beyond, Case, Missing
from timing.review.finding import Finding, Kind, degrees, speed, speeds
from timing.tolerance import exceeds, falls_short
from timing.vacuum import VacuumRamp, VacuumTable

# A curve that falls or rises by less than this between two points is level: rounding of a unit's step, or of typing.
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
        "Too early a spark at full load makes the engine pink: pistons and bearings suffer.",
        rpm=beyond.rpm,
        vacuum=beyond.vacuum,
    )


def too_little(case: Case) -> Iterator[Finding | Missing]:
    """Too little total advance with the throttle wide open, boost apart."""
    limits = case.limits
    unboosted = case.full_load_rows & (case.vacuum >= 0.0)
    beyond = case.below(limits.least_deg, unboosted, from_rpm=limits.least_from_rpm)
    if beyond is None:
        return
    at_rpm = speed(beyond.at_rpm)
    if falls_short(beyond.degrees, 0.0):
        text = f"At full load the spark comes {degrees(-beyond.degrees)} after top dead centre at {at_rpm}."
    else:
        text = f"At full load the total advance is only {degrees(beyond.degrees)} at {at_rpm}."
    yield Finding(
        Kind.STOP if falls_short(beyond.degrees, 0.0) else Kind.CAUTION,
        "too-little-advance",
        f"{text} At least {degrees(limits.least_deg)} is usual there: check base timing, signs and missing points.",
        "A late spark burns late: exhaust valves and manifold get too hot.",
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
        first = ", from the vacuum part first" if case.map.vacuum is not None else ""
        yield Finding(
            Kind.STOP,
            "light-load-advance",
            f"At light load the total advance is {degrees(beyond.degrees)} {_place(case, beyond)}. This engine's"
            f" limit is {degrees(limit)}: take out {degrees(beyond.degrees - limit)}{first}.",
            "Beyond its best point more advance costs power and heats the engine. It pinks when the load comes on.",
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
            f"The total advance is {degrees(beyond.degrees)} {_place(case, beyond)}. No road engine needs more than"
            f" {degrees(limit)}. Look for a slipped digit, or a base counted twice.",
            "So early a spark works against the crank, and the rotor may be far from its terminal.",
            rpm=beyond.rpm,
            vacuum=beyond.vacuum,
        )


def cranking(case: Case) -> Iterator[Finding | Missing]:
    """Total advance while the starter turns the engine."""
    limits = case.limits
    rpm = np.append(case.rpm[case.rpm < limits.cranking_rpm], limits.cranking_rpm)
    worst = float(np.max(case.map.total(rpm=rpm, vacuum=limits.full_load_kpa)))
    if exceeds(worst, limits.cranking_deg):
        yield Finding(
            Kind.CAUTION,
            "cranking-advance",
            f"Below {speed(limits.cranking_rpm)}, at cranking speed, the total advance is {degrees(worst)}. Keep it to"
            f" {degrees(limits.cranking_deg)} or less there.",
            "A spark that early at cranking speed kicks back. It strains the starter, and a starting handle can"
            " break a wrist.",
            rpm=(0.0, limits.cranking_rpm),
        )


def slope(case: Case) -> Iterator[Finding | Missing]:
    """Stretches of the speed curve that are steeper than any spring let them be."""
    limit = case.limits.slope_deg
    for span, steepest in _stretches(case, case.map.curve.slope(), limit):
        yield Finding(
            Kind.CAUTION,
            "steep-slope",
            f"The speed curve rises by {steepest:.3g}° per 1000 rpm {speeds(span)}. More than {limit:g}° is unusual:"
            " spread the rise over more speed.",
            "A small change of speed then moves the spark a lot. The engine surges, and reading errors count double.",
            rpm=span,
        )


def dip(case: Case) -> Iterator[Finding | Missing]:
    """Stretches where the speed curve falls, apart from an intended fall through idle."""
    idle = case.engine.idle_rpm
    for span, _ in _stretches(case, -case.map.curve.slope(), _LEVEL_DEG):
        before, after = (float(case.map.curve.advance(rpm)) for rpm in span)
        falls = f"The speed curve falls from {degrees(before)} to {degrees(after)} {speeds(span)}"
        if idle is not None and not exceeds(span[1], idle + case.limits.idle_band_rpm):
            yield Finding(
                Kind.NOTE,
                "falls-through-idle",
                f"{falls}, at idle or below. Leave it if it is meant to hold the idle steady.",
                "More advance when the engine slows lifts it again: some use that on purpose.",
                rpm=span,
            )
        else:
            yield Finding(
                Kind.CAUTION,
                "dip",
                f"{falls}. Check for a mistyped point; if it is meant, write down why.",
                "Bob weights never gave less advance at more speed; a dip is nearly always a slip.",
                rpm=span,
            )


def stops_rising(case: Case) -> Iterator[Finding | Missing]:
    """A speed curve that adds nothing at higher speed; a two-stroke often runs on the same timing at all speeds."""
    start, curve = case.limits.rising_from_rpm, case.map.curve
    limit = case.map.rev_limit_rpm
    if case.engine.strokes == 2 or (limit is not None and not exceeds(limit, start)):
        return
    there = float(curve.advance(start))
    highest = max([float(curve.advance(rpm)) for rpm in case.rpm[case.rpm > start]], default=there)
    if exceeds(highest, there + _LEVEL_DEG):
        return
    yield Finding(
        Kind.CAUTION,
        "curve-stops-rising",
        f"The speed curve does not rise above {speed(start)}: it adds {degrees(there)} there and never more. Check"
        " that all points were entered.",
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
    if exceeds(high - low, case.limits.idle_rise_deg):
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
        if part.from_rpm > 0.0 and exceeds(part.full_deg, limit):
            yield Finding(
                Kind.NOTE,
                "vacuum-comes-at-once",
                f"At {speed(part.from_rpm)} up to {degrees(part.full_deg)} of vacuum advance come at once; more than"
                f" {degrees(limit)} is felt. Set that speed just above idle, where nobody drives.",
                "A jump in advance is a jump in torque.",
                rpm=(part.from_rpm, part.from_rpm),
            )
    elif isinstance(part, VacuumTable):
        yield from _steps_in_table(case, part, limit)


def _steps_in_table(case: Case, part: VacuumTable, limit: float) -> Iterator[Finding]:
    table = np.array(part.degrees)
    rpm, vacuum = np.array(part.rpm), np.array(part.vacuum)
    driven = case.map.rev_limit_rpm or np.inf
    found = []
    for axis in (0, 1):
        for (row, column), size in np.ndenumerate(np.abs(np.diff(table, axis=axis))):
            if exceeds(float(size), limit) and rpm[column] < driven:
                other = (row + 1, column) if axis == 0 else (row, column + 1)
                found.append((float(size), (row, column), other))
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
        f" {degrees(limit)}. The largest is {degrees(worst)}, from {_cell(case, rpm, vacuum, here)} to"
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
    elif falls_short(fuel, ordinary):
        yield Finding(
            Kind.CAUTION,
            "low-octane",
            f"The owner's fuel has {fuel:g} RON, less than {ordinary:g}. Start with less advance at full load."
            " Prove it on the road with a hot engine before adding any.",
            "The less octane, the sooner the charge lights by itself.",
        )


def _stretches(case: Case, slopes: FloatArray, limit: float) -> Iterator[tuple[tuple[float, float], float]]:
    """Neighbouring stretches of the speed curve where `slopes` are above `limit`, up to the rev limit, and the most."""
    driven = case.map.rev_limit_rpm or np.inf
    begun: tuple[float, float] | None = None
    most = 0.0
    for (low, high), steep in zip(pairwise(case.map.curve.rpm), slopes.tolist(), strict=True):
        if exceeds(steep, limit) and low < driven:
            begun, most = (low, min(high, driven)) if begun is None else (begun[0], min(high, driven)), max(most, steep)
        elif begun is not None:
            yield begun, most
            begun, most = None, 0.0
    if begun is not None:
        yield begun, most


def _place(case: Case, beyond: Beyond) -> str:
    if case.map.vacuum is None and beyond.at_vacuum >= 0.0:
        return f"at {speed(beyond.at_rpm)}"
    load = "boost" if beyond.at_vacuum < 0.0 else "vacuum"
    return f"at {speed(beyond.at_rpm)} and {case.pressure(abs(beyond.at_vacuum))} of {load}"


def _cell(case: Case, rpm: FloatArray, vacuum: FloatArray, cell: tuple[int, int]) -> str:
    return f"{speed(rpm[cell[1]])} and {case.pressure(float(vacuum[cell[0]]))}"
