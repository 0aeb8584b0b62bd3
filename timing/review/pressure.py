"""Findings about what manifold pressure does: at idle, at the workshop's height, and under boost."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from timing.review.case import Case, Missing
from timing.review.finding import Finding, Kind, degrees, speed
from timing.units import highest_vacuum, standard_pressure
from timing.vacuum import VacuumRamp, VacuumTable

ATMOSPHERE = "US Standard Atmosphere 1976; the lowest manifold pressure is common practice"
_NOISE = 1e-9


def at_idle(case: Case) -> Iterator[Finding | Missing]:
    """A vacuum part that is neither off nor fully on at idle."""
    engine, part, limits = case.engine, case.map.vacuum, case.limits
    if part is None:
        return
    question = "whether the vacuum part is half-way on at idle"
    if engine.idle_rpm is None:
        yield Missing("missing-idle-speed", "the idle speed", question)
        return
    span = (max(0.0, engine.idle_rpm - limits.idle_band_rpm), engine.idle_rpm + limits.idle_band_rpm)
    if isinstance(part, VacuumRamp) and part.from_rpm > span[1]:
        return
    if engine.idle_vacuum_kpa is None:
        yield Missing("missing-idle-vacuum", "the manifold vacuum at idle", question)
        return
    vacuum = (max(0.0, engine.idle_vacuum_kpa - limits.idle_band_kpa), engine.idle_vacuum_kpa + limits.idle_band_kpa)
    rpm, kpa = np.meshgrid(np.linspace(*span, 3), np.linspace(*vacuum, 5))
    added = np.asarray(part.advance(rpm=rpm, vacuum=kpa))
    change = float(added.max() - added.min())
    if change > limits.idle_rise_deg + _NOISE:
        now = float(np.asarray(part.advance(rpm=engine.idle_rpm, vacuum=engine.idle_vacuum_kpa)))
        yield Finding(
            Kind.CAUTION,
            "vacuum-half-on-at-idle",
            f"At idle, {speed(engine.idle_rpm)} and {case.pressure(engine.idle_vacuum_kpa)}, the vacuum part adds"
            f" {degrees(now)} and swings by {degrees(change)} as the idle wanders. Let it act from a higher"
            " speed, or move it so that it is off or fully on at idle.",
            "Advance that comes and goes with the idle's own vacuum makes it hunt, and the base timing cannot be read.",
            rpm=span,
            vacuum=vacuum,
        )


def within_reach(case: Case) -> Iterator[Finding | Missing]:
    """A vacuum part that needs more vacuum than there is at the workshop's height."""
    part, height = case.map.vacuum, case.altitude_m
    if part is None:
        return
    if height is None:
        yield Missing(
            "missing-altitude", "the workshop's altitude", "whether the engine ever makes the vacuum the map counts on"
        )
        height = 0.0
    lowest = case.limits.lowest_manifold_kpa
    # Where the air itself is thinner than that, there is no vacuum at all.
    most = float(highest_vacuum(height, lowest)) if float(standard_pressure(height)) >= lowest else 0.0
    here = f"at {height:.0f} m" if case.altitude_m is not None else "even at sea level"
    reason = (
        f"Vacuum is counted from the air around, which is {case.pressure(float(standard_pressure(height)))} {here}."
    )
    if isinstance(part, VacuumRamp):
        if part.full > most + _NOISE:
            got = float(part.advance(rpm=max(part.from_rpm, 1.0), vacuum=most))
            yield Finding(
                Kind.CAUTION,
                "vacuum-never-full",
                f"The vacuum advance is complete at {case.pressure(part.full)}, but {here} there is never more than"
                f" {case.pressure(most)}: {degrees(got)} of its {degrees(part.full_deg)} is all it gives. Let it be"
                f" complete by {case.pressure(most)}.",
                reason,
                ATMOSPHERE,
                vacuum=(most, part.full),
            )
        return
    out_of_reach = [row for row in part.vacuum if row > most + _NOISE]
    if out_of_reach:
        rows = "One row" if len(out_of_reach) == 1 else f"{len(out_of_reach)} rows"
        yield Finding(
            Kind.NOTE,
            "vacuum-rows-never-reached",
            f"{rows} of the vacuum table, from {case.pressure(out_of_reach[0])} on,"
            f" {'is' if len(out_of_reach) == 1 else 'are'} never reached: {here} there is never more than"
            f" {case.pressure(most)}. Check the highest row that is.",
            reason,
            ATMOSPHERE,
            vacuum=(most, out_of_reach[-1]),
        )


def boost(case: Case) -> Iterator[Finding | Missing]:
    """An engine under boost whose map takes nothing out, or the other way round."""
    boosted, part = case.engine.boosted, case.map.boost
    table = case.map.vacuum
    takes = part is not None and part.degrees[-1] > 0.0
    if isinstance(table, VacuumTable) and table.vacuum[0] < 0.0:
        takes = takes or min(table.degrees[0]) < max(table.degrees[-1])
    if boosted is None:
        yield Missing("missing-boost", "whether the engine is boosted", "whether retard under boost is needed")
    elif boosted and not takes:
        yield Finding(
            Kind.STOP,
            "no-boost-retard",
            "The engine is boosted and the map takes nothing out under boost. Add a retard under boost, and prove"
            " it on a dynamometer.",
            "A charge pressed into the cylinder burns faster and knocks sooner; knock under boost holes pistons.",
        )
    elif not boosted and part is not None and takes:
        yield Finding(
            Kind.NOTE,
            "boost-retard-unused",
            f"The map takes out up to {degrees(part.degrees[-1])} under boost, and the engine has none. Check which is"
            " right.",
            "Either the map or the car's page is wrong.",
            vacuum=(-part.boost[-1], -part.boost[0]),
        )
