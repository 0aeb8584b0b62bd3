"""Findings about what manifold pressure does: at idle, at the workshop's height, and under boost."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from timing.review.case import Case, Missing
from timing.review.finding import Finding, Kind, degrees, speed
from timing.tolerance import exceeds
from timing.units import highest_vacuum, standard_pressure
from timing.vacuum import VacuumRamp

ATMOSPHERE = "US Standard Atmosphere 1976; the lowest manifold pressure is common practice"


def at_idle(case: Case) -> Iterator[Finding | Missing]:
    """A vacuum part that is neither off nor fully on at idle, or that a throttle port never reaches there."""
    engine, part, limits = case.engine, case.map.vacuum, case.limits
    if part is None:
        return
    question = "whether the vacuum part is half-way on at idle"
    if engine.idle_rpm is None:
        yield Missing("missing-idle-speed", "the idle speed", question)
        return
    span = (max(0.0, engine.idle_rpm - limits.idle_band_rpm), engine.idle_rpm + limits.idle_band_rpm)
    if isinstance(part, VacuumRamp) and exceeds(part.from_rpm, span[1]):
        return
    if engine.vacuum_port == "throttle":
        total = float(case.map.total(rpm=engine.idle_rpm, vacuum=0.0))
        yield Finding(
            Kind.NOTE,
            "no-vacuum-at-idle",
            f"The vacuum pipe is on the throttle port, which has no vacuum at idle. Idle at {speed(engine.idle_rpm)}"
            f" runs on {degrees(total)}, without vacuum advance.",
            "The port lies above the closed throttle: its vacuum comes only when the throttle opens.",
            rpm=span,
        )
        return
    if engine.idle_vacuum_kpa is None:
        yield Missing("missing-idle-vacuum", "the manifold vacuum at idle", question)
        return
    vacuum = (max(0.0, engine.idle_vacuum_kpa - limits.idle_band_kpa), engine.idle_vacuum_kpa + limits.idle_band_kpa)
    rpm, kpa = np.meshgrid(np.linspace(*span, 3), np.linspace(*vacuum, 5))
    added = np.asarray(part.advance(rpm=rpm, vacuum=kpa))
    change = float(added.max() - added.min())
    if exceeds(change, limits.idle_rise_deg):
        now = float(np.asarray(part.advance(rpm=engine.idle_rpm, vacuum=engine.idle_vacuum_kpa)))
        yield Finding(
            Kind.CAUTION,
            "vacuum-half-on-at-idle",
            f"At idle, {speed(engine.idle_rpm)} and {case.pressure(engine.idle_vacuum_kpa)}, the vacuum part adds"
            f" {degrees(now)} and swings by {degrees(change)}. Let it act from a higher speed, or have it off or fully"
            " on at idle.",
            "Advance that comes and goes with the idle's own vacuum makes it hunt. Base timing cannot be read then.",
            rpm=span,
            vacuum=vacuum,
        )


def steep(case: Case) -> Iterator[Finding | Missing]:
    """A vacuum part that comes almost at once."""
    part, limits = case.map.vacuum, case.limits
    if part is None:
        return
    if isinstance(part, VacuumRamp):
        nodes, table = np.array([part.start, part.full]), np.array([[0.0], [part.full_deg]])
    else:
        nodes, table = np.array(part.vacuum), np.array(part.degrees)
    rises = np.abs(np.diff(table, axis=0)).max(axis=1)
    slopes = rises / np.diff(nodes)
    # A degree more or less is not felt, however suddenly it comes.
    found = [
        row
        for row, (rise, slope) in enumerate(zip(rises.tolist(), slopes.tolist(), strict=True))
        if exceeds(slope, limits.vacuum_slope_deg) and exceeds(rise, limits.idle_rise_deg)
    ]
    if found:
        worst = max(found, key=lambda row: float(slopes[row]))
        yield Finding(
            Kind.CAUTION,
            "steep-vacuum",
            f"Near {case.pressure(float(nodes[worst]))} the vacuum part changes by {degrees(float(rises[worst]))}, at"
            f" {float(slopes[worst]):.3g}° per kPa. More than {limits.vacuum_slope_deg:g}° is felt: spread it over more"
            " vacuum.",
            "The engine jerks where the throttle moves by a hair, and a gauge cannot be read so finely.",
            vacuum=(float(nodes[worst]), float(nodes[worst + 1])),
        )


def within_reach(case: Case) -> Iterator[Finding | Missing]:
    """A vacuum part that needs more vacuum than there is at the workshop's height."""
    part, height = case.map.vacuum, case.altitude_m
    if part is None:
        return
    if height is None:
        yield Missing(
            "missing-altitude", "the workshop's altitude", "whether the engine makes the vacuum the map needs"
        )
        height = 0.0
    lowest = case.limits.lowest_manifold_kpa
    # Where the air itself is thinner than that, there is no vacuum at all.
    around = float(standard_pressure(height))
    most = float(highest_vacuum(height, lowest)) if around >= lowest else 0.0
    here = f"at {height:.0f} m" if case.altitude_m is not None else "even at sea level"
    reason = f"Vacuum is counted from the air around, which is {case.pressure(around)} {here}."
    if isinstance(part, VacuumRamp):
        if exceeds(part.full, most):
            got = float(part.advance(rpm=max(part.from_rpm, 1.0), vacuum=most))
            yield Finding(
                Kind.CAUTION,
                "vacuum-never-full",
                f"The vacuum advance is full at {case.pressure(part.full)}, but {here} there is never more than"
                f" {case.pressure(most)}. It gives {degrees(got)} of its {degrees(part.full_deg)}: let it be full by"
                f" {case.pressure(most)}.",
                reason,
                ATMOSPHERE,
                vacuum=(most, part.full),
            )
        return
    out_of_reach = [row for row in part.vacuum if exceeds(row, most)]
    if out_of_reach:
        one = len(out_of_reach) == 1
        yield Finding(
            Kind.NOTE,
            "vacuum-rows-never-reached",
            f"{'One row' if one else f'{len(out_of_reach)} rows'} of the vacuum table, from"
            f" {case.pressure(out_of_reach[0])} on, {'is' if one else 'are'} never reached."
            f" {here[0].upper()}{here[1:]} there is never more than {case.pressure(most)}: check the highest row that"
            " is.",
            reason,
            ATMOSPHERE,
            vacuum=(most, out_of_reach[-1]),
        )


def boost(case: Case) -> Iterator[Finding | Missing]:
    """An engine under boost whose map takes too little out, or the other way round."""
    boosted, limits = case.engine.boosted, case.limits
    if boosted is None:
        yield Missing("missing-boost", "whether the engine is boosted", "whether retard under boost is needed")
        return
    most_boost = -float(case.vacuum[0])
    taken = _least_retard(case)
    if boosted and exceeds(limits.boost_retard_deg * max(most_boost, 1.0) / 100.0, taken):
        if exceeds(taken, 0.0):
            text = (
                f"At {case.pressure(most_boost)} of boost the map takes out only {degrees(taken)}. Usual is at least"
                f" {degrees(limits.boost_retard_deg * most_boost / 100.0)}."
            )
        else:
            text = "The engine is boosted, and the map takes nothing out under boost."
        yield Finding(
            Kind.STOP,
            "no-boost-retard",
            f"{text} Add retard under boost, and prove it on a dynamometer.",
            "A charge pressed in burns faster and knocks sooner. Knock under boost holes pistons.",
            vacuum=(-most_boost, 0.0) if most_boost > 0.0 else None,
        )
    elif not boosted and exceeds(taken, 0.0):
        yield Finding(
            Kind.NOTE,
            "boost-retard-unused",
            f"The map takes out {degrees(taken)} under boost, and the engine has none. Check which is right.",
            "Either the map or the car's page is wrong.",
            vacuum=(-most_boost, 0.0),
        )


def _least_retard(case: Case) -> float:
    """What the most boost that the map knows takes out at least, against no boost and no vacuum. [degrees]

    Looked at from the speed on at which an engine makes boost, or at its highest where it never turns so fast.
    """
    start = min(case.limits.boost_from_rpm, float(case.rpm[-1]))
    rpm = np.append(start, case.rpm[case.rpm > start])
    at_atmosphere, boosted = (np.asarray(case.map.total(rpm=rpm, vacuum=kpa)) for kpa in (0.0, case.vacuum[0]))
    return float((at_atmosphere - boosted).min())
