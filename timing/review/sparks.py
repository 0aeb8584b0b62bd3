"""Findings about what makes the sparks: rev limit, dwell, the coil's energy and heat, and the tachometer."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing.coil import DwellBudget, Primary, dwell_budget
from timing.review.case import Case, Missing
from timing.review.finding import Finding, Kind, degrees, speed

CIRCUIT = "derived from the coil's resistance and inductance; the limit is common practice"

# Speeds at which heat is looked at: it bends only where the dwell no longer fits, and that speed is added.
_SPEEDS = 40


def rev_limit(case: Case) -> Iterator[Finding | Missing]:
    """The rev limit against the red line and against the curve."""
    limit, red_line, curve = case.map.rev_limit_rpm, case.engine.red_line_rpm, case.map.curve
    if limit is None:
        yield Finding(
            Kind.NOTE,
            "no-rev-limit",
            "No rev limit is set. Set one, or write down what else keeps the engine from turning too fast.",
            "A missed gear takes an engine past its red line in a moment.",
        )
        return
    if red_line is None:
        yield Missing("missing-red-line", "the red line", "whether the rev limit comes in time")
    elif limit > red_line:
        yield Finding(
            Kind.STOP,
            "rev-limit-over-red-line",
            f"The rev limit of {speed(limit)} is above the red line of {speed(red_line)}. Lower it to the red"
            " line or less.",
            "A limit above the red line protects nothing.",
            rpm=(red_line, limit),
        )
    last = curve.rpm[-1]
    if limit > last:
        yield Finding(
            Kind.CAUTION,
            "rev-limit-beyond-curve",
            f"The rev limit of {speed(limit)} is above the last node of the curve at {speed(last)}. Add a node"
            f" there, or make sure that {curve.degrees[-1]:g}° held to the limit is meant.",
            "Above the last node the advance is held, whatever was in mind.",
            rpm=(last, limit),
        )
    used_up_to = float(curve.advance(limit))
    unused = [(abs(deg - used_up_to), rpm) for rpm, deg in zip(curve.rpm, curve.degrees, strict=True) if rpm > limit]
    if unused and max(unused)[0] > case.limits.unused_deg:
        change, at_rpm = max(unused)
        yield Finding(
            Kind.NOTE,
            "rev-limit-below-curve",
            f"The curve still changes by {degrees(change)} up to {speed(at_rpm)}, above the rev limit of"
            f" {speed(limit)}. That part is never used; check that the limit is meant so low.",
            "A limit below what the curve uses is often a slipped digit.",
            rpm=(limit, at_rpm),
        )


@dataclass(frozen=True, slots=True)
class _Rhythm:
    """Everything that decides how the coil is charged; made only where all of it is known."""

    asked_ms: float
    spark_ms: float
    primary: Primary
    cylinders: int
    strokes: int
    shortest_interval_deg: float | None
    top_rpm: float

    def budget(self, rpm: ArrayLike) -> DwellBudget:
        return dwell_budget(
            self.primary,
            self.cylinders,
            self.asked_ms,
            self.spark_ms,
            rpm,
            strokes=self.strokes,
            shortest_interval_deg=self.shortest_interval_deg,
        )


def dwell(case: Case) -> Iterator[Finding | Missing]:
    """Whether the dwell fits at top speed, what the spark is left with, and how hot the coil gets."""
    asked, primary, engine, top = case.map.dwell_ms, case.coil.primary, case.engine, case.top_rpm
    question = "whether the dwell fits at top speed, and how strong the spark and how hot the coil is there"
    if asked is None:
        yield Missing("missing-dwell", "the map's dwell", question)
    if primary is None:
        yield Missing("missing-coil", "the coil's resistance and inductance", question)
    if engine.cylinders is None:
        yield Missing("missing-cylinders", "the number of cylinders", question)
    if top is None:
        yield Missing("missing-top-speed", "both rev limit and red line", question)
    if asked is None or primary is None or engine.cylinders is None or top is None:
        return
    spark = case.limits.spark_ms if case.coil.spark_ms is None else case.coil.spark_ms
    rhythm = _Rhythm(asked, spark, primary, engine.cylinders, engine.strokes, engine.shortest_interval_deg, top)
    yield from _at_top_speed(case, rhythm)
    yield from _heat(case, rhythm)


def _at_top_speed(case: Case, rhythm: _Rhythm) -> Iterator[Finding]:
    top, limits, primary = rhythm.top_rpm, case.limits, rhythm.primary
    budget = rhythm.budget(top)
    on, current, energy = float(budget.on_ms), float(budget.current_a), float(budget.energy_mj)
    whole = float(primary.energy(primary.charge(rhythm.asked_ms).end_a))
    if not budget.fits:
        fits = math.floor(10.0 * on) / 10.0
        advice = f"Ask for {fits:g} ms or less" if fits > 0.0 else "Lower the rev limit"
        yield Finding(
            Kind.CAUTION,
            "dwell-does-not-fit",
            f"{rhythm.asked_ms:g} ms of dwell beside {rhythm.spark_ms:g} ms of spark fit up to"
            f" {speed(float(budget.limit_rpm))}. At {speed(top)} only {on:.2f} ms are left: {current:.1f} A and"
            f" {energy:.0f} mJ instead of {whole:.0f} mJ. {advice}, or take a coil that charges faster.",
            "Each spark needs its time, and so does each charge; the faster the engine, the less there is for both.",
            CIRCUIT,
            rpm=(float(budget.limit_rpm), top),
        )
    if energy < limits.least_energy_mj:
        yield Finding(
            Kind.CAUTION if on > 0.0 else Kind.STOP,
            "weak-spark-at-top-speed",
            f"At {speed(top)} the spark has {energy:.1f} mJ; below {limits.least_energy_mj:g} mJ it may fail."
            " More dwell if it fits, a lower rev limit, or another coil.",
            "A weak spark misfires first where the mixture is thin and the pressure high.",
            CIRCUIT,
            rpm=(top, top),
        )
    elif whole < limits.ordinary_energy_mj:
        yield Finding(
            Kind.NOTE,
            "modest-spark",
            f"With its whole dwell the coil holds {whole:.1f} mJ; {limits.ordinary_energy_mj:g} mJ is ordinary."
            " Enough for an engine in good order.",
            "Points gave no more, and the engine was made for them.",
            CIRCUIT,
        )


def _heat(case: Case, rhythm: _Rhythm) -> Iterator[Finding | Missing]:
    # Heat grows with speed until the dwell no longer fits, and may fall from there on.
    bend, top = float(np.max(rhythm.budget(rhythm.top_rpm).limit_rpm)), rhythm.top_rpm
    rpm = np.unique([*np.linspace(top / _SPEEDS, top, _SPEEDS), min(bend, top)])
    heat_w = np.asarray(rhythm.budget(rpm).heat_w)
    limit, worst = case.coil.heat_limit_w, int(np.argmax(heat_w))
    hottest = float(heat_w[worst])
    if limit is None:
        yield Missing(
            "missing-coil-heat",
            "the heat the coil bears",
            f"whether {hottest:.1f} W at {speed(float(rpm[worst]))} is too much for it",
        )
    elif hottest > limit:
        over = rpm[heat_w > limit]
        yield Finding(
            Kind.STOP,
            "coil-too-hot",
            f"The coil's winding takes {hottest:.1f} W at {speed(float(rpm[worst]))}; it bears {limit:g} W. Ask"
            " for less dwell, or fit the ballast or the coil the unit is meant for.",
            "A coil that is too hot loses its oil or its insulation, and then the spark.",
            CIRCUIT,
            rpm=(float(over[0]), float(over[-1])),
        )


def while_cranking(case: Case) -> Iterator[Finding | Missing]:
    """The spark at the voltage the starter leaves."""
    asked, coil = case.map.dwell_ms, case.coil
    if asked is None or coil.primary is None:
        return  # said by `dwell`
    circuit = coil.cranking
    if circuit is None:
        yield Missing(
            "missing-cranking-voltage", "the voltage while cranking", "whether the spark is strong enough to start"
        )
        return
    current = float(circuit.charge(asked).end_a)
    energy = float(circuit.energy(current))
    if energy < case.limits.least_energy_mj:
        ballast = " By-pass the ballast while cranking." if circuit.ballast_ohm > 0.0 else ""
        yield Finding(
            Kind.CAUTION,
            "weak-spark-cranking",
            f"At {circuit.supply_v:g} V, while cranking, {asked:g} ms charge the coil to {current:.1f} A and"
            f" {energy:.1f} mJ; below {case.limits.least_energy_mj:g} mJ it may not start.{ballast}",
            "The energy falls with the square of the current, just when the mixture is cold.",
            CIRCUIT,
            rpm=(0.0, case.limits.cranking_rpm),
        )


def left_on(case: Case) -> Iterator[Finding | Missing]:
    """The coil with the ignition on and the engine standing."""
    primary, limit = case.coil.primary, case.coil.heat_limit_w
    if primary is None or limit is None or primary.left_on_heat_w <= limit:
        return
    yield Finding(
        Kind.CAUTION,
        "coil-left-on",
        f"With the ignition on and the engine standing the coil would take {primary.highest_a:.1f} A and"
        f" {primary.left_on_heat_w:.0f} W, and it bears {limit:g} W. Prove that the unit switches it off by"
        " itself before the ignition is left on.",
        "A coil left on overheats and burns out, and can start a fire.",
        CIRCUIT,
    )


def tachometer(case: Case) -> Iterator[Finding | Missing]:
    """Repeated sparks with a rev counter that counts pulses of coil current."""
    if not case.map.repeated_sparks:
        return
    kind = case.engine.tachometer
    if kind is None:
        yield Missing("missing-tachometer", "what drives the tachometer", "whether repeated sparks disturb it")
    elif kind == "coil current":
        yield Finding(
            Kind.CAUTION,
            "repeated-sparks-tachometer",
            "Repeated sparks are on and the tachometer is driven by the coil's current. Switch them off, or give the"
            " tachometer a signal of its own.",
            "It counts every pulse of coil current: it reads too high, and an old one can be damaged.",
            rpm=(0.0, case.limits.cranking_rpm),
        )
