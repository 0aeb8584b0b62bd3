"""Findings about what makes the sparks: dwell, the coil's current, energy and heat, and the tachometer."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing.coil import DwellBudget, Primary, dwell_budget
from timing.review.case import Case, Missing
from timing.review.facts import EngineFacts
from timing.review.finding import Finding, Kind, speed
from timing.tolerance import exceeds, falls_short

CIRCUIT = "derived from the coil's resistance and inductance; the limit is common practice"

# Speeds at which heat is looked at: it bends only where the dwell no longer fits, and that speed is added.
_SPEEDS = 40


@dataclass(frozen=True, slots=True)
class _Charging:
    """Everything that decides how the coil is charged; made only where all of it is known."""

    asked_ms: float
    spark_ms: float
    primary: Primary
    cylinders: int
    engine: EngineFacts
    top_rpm: float

    def budget(self, rpm: ArrayLike) -> DwellBudget:
        return dwell_budget(
            self.primary,
            self.cylinders,
            self.asked_ms,
            self.spark_ms,
            rpm=rpm,
            strokes=self.engine.strokes,
            intervals_deg=self.engine.intervals_deg,
            wasted_spark=self.engine.wasted_spark,
        )


def dwell(case: Case) -> Iterator[Finding | Missing]:
    """Whether the dwell fits at top speed, what the spark is left with, and how hot the coil gets."""
    asked, primary, engine, top = case.map.dwell_ms, case.coil.primary, case.engine, case.top_rpm
    question = "whether the dwell fits at top speed, or how hot the coil gets"
    if asked is None:
        yield Missing("missing-dwell", "the map's dwell", question)
    if primary is None:
        yield Missing("missing-coil", "the coil's resistance and inductance", question)
    elif primary.inductance_mh is None:
        yield Missing("missing-inductance", "the coil's inductance", question)
    if engine.cylinders is None:
        yield Missing("missing-cylinders", "the number of cylinders", question)
    if top is None:
        yield Missing("missing-top-speed", "both rev limit and red line", question)
    if asked is None or primary is None or primary.inductance_mh is None or engine.cylinders is None or top is None:
        return
    spark = case.limits.spark_ms if case.coil.spark_ms is None else case.coil.spark_ms
    charging = _Charging(asked, spark, primary, engine.cylinders, engine, top)
    yield from _at_top_speed(case, charging)
    yield from _heat(case, charging)


def _at_top_speed(case: Case, charging: _Charging) -> Iterator[Finding]:
    top, limits, primary = charging.top_rpm, case.limits, charging.primary
    budget = charging.budget(top)
    on, current, energy = float(budget.on_ms), float(budget.current_a), float(budget.energy_mj)
    whole = float(primary.energy(primary.charge(charging.asked_ms).end_a))
    if not budget.fits:
        fits = math.floor(10.0 * on) / 10.0
        advice = f"Ask for {fits:g} ms or less" if fits > 0.0 else "Lower the rev limit"
        yield Finding(
            Kind.CAUTION,
            "dwell-does-not-fit",
            f"{charging.asked_ms:g} ms of dwell beside {charging.spark_ms:g} ms of spark fit up to"
            f" {speed(float(budget.limit_rpm))}. At {speed(top)} {on:.2f} ms are left: {current:.1f} A and"
            f" {energy:.0f} mJ instead of {whole:.0f} mJ. {advice}, or take a coil that charges faster.",
            "Each spark needs its time, and so does each charge. The faster the engine, the less there is for both.",
            CIRCUIT,
            rpm=(float(budget.limit_rpm), top),
        )
    if falls_short(energy, limits.least_energy_mj):
        yield Finding(
            Kind.CAUTION if on > 0.0 else Kind.STOP,
            "weak-spark-at-top-speed",
            f"At {speed(top)} the spark has {energy:.1f} mJ; below {limits.least_energy_mj:g} mJ it may fail."
            " Give more dwell if it fits, a lower rev limit, or another coil.",
            "A weak spark misfires first where the mixture is thin and the pressure high.",
            CIRCUIT,
            rpm=(top, top),
        )
    elif falls_short(whole, limits.ordinary_energy_mj):
        yield Finding(
            Kind.NOTE,
            "modest-spark",
            f"With its whole dwell the coil holds {whole:.1f} mJ; {limits.ordinary_energy_mj:g} mJ is ordinary."
            " That is enough for an engine in good order.",
            "Points gave no more, and the engine was made for them.",
            CIRCUIT,
        )


def _heat(case: Case, charging: _Charging) -> Iterator[Finding | Missing]:
    # Heat grows with speed until the dwell no longer fits, and may fall from there on.
    bend, top = float(np.max(charging.budget(charging.top_rpm).limit_rpm)), charging.top_rpm
    rpm = np.unique([*np.linspace(top / _SPEEDS, top, _SPEEDS), min(bend, top)])
    heat_w = np.asarray(charging.budget(rpm).heat_w)
    limit, worst = case.coil.heat_limit_w, int(np.argmax(heat_w))
    hottest = float(heat_w[worst])
    if limit is None:
        yield Missing(
            "missing-coil-heat",
            "the coil's heat limit",
            f"whether {hottest:.1f} W at {speed(float(rpm[worst]))} is too much for it",
        )
    elif exceeds(hottest, limit):
        over = [at for at, watts in zip(rpm.tolist(), heat_w.tolist(), strict=True) if exceeds(watts, limit)]
        yield Finding(
            Kind.STOP,
            "coil-too-hot",
            f"The coil's winding takes {hottest:.1f} W at {speed(float(rpm[worst]))}; its limit is {limit:g} W. Ask"
            " for less dwell, or fit the ballast or the coil the unit is meant for.",
            "A coil that is too hot loses its oil or its insulation, and then the spark.",
            CIRCUIT,
            rpm=(over[0], over[-1]),
        )


def current(case: Case) -> Iterator[Finding | Missing]:
    """The highest current of coil and switch; without an inductance, what the resistance alone allows."""
    primary, asked, own = case.coil.primary, case.map.dwell_ms, case.coil.most_current_a
    if primary is None:
        return
    limit = case.limits.most_current_a if own is None else own
    if primary.inductance_mh is not None:
        if asked is None:
            return  # said by `dwell`
        amperes = float(primary.charge(asked).end_a)
        text = f"At {primary.supply_v:g} V, {asked:g} ms of dwell bring the coil to {amperes:.1f} A."
    else:
        amperes = primary.highest_a
        text = f"At {primary.supply_v:g} V the coil's resistance alone allows {amperes:.1f} A."
    if exceeds(amperes, limit):
        whose = f"Its limit is {limit:g} A." if own is not None else f"No limit is recorded, and {limit:g} A is usual."
        yield Finding(
            Kind.STOP if own is not None else Kind.CAUTION,
            "coil-current",
            f"{text} {whose} Ask for less dwell, fit a ballast, or take a unit that limits the current.",
            "Too much current burns out the unit's switch or the coil.",
            CIRCUIT,
        )
    elif primary.inductance_mh is None:
        yield Finding(
            Kind.NOTE,
            "coil-at-rest",
            f"{text} Left on at that current, its winding takes {primary.left_on_heat_w:.0f} W.",
            "Resistance tells the highest current. Only inductance tells how fast it comes.",
            CIRCUIT,
        )


def while_cranking(case: Case) -> Iterator[Finding | Missing]:
    """The spark at the voltage the starter leaves, with the coil cold and a ballast by-passed where it is."""
    asked, coil = case.map.dwell_ms, case.coil
    if asked is None or coil.primary is None or coil.primary.inductance_mh is None:
        return  # said by `dwell`
    circuit = coil.cranking
    if circuit is None:
        yield Missing(
            "missing-cranking-voltage", "the voltage while cranking", "whether the spark is strong enough to start"
        )
        return
    amperes = float(circuit.charge(asked).end_a)
    energy = float(circuit.energy(amperes))
    if falls_short(energy, case.limits.least_energy_mj):
        ballast = " By-pass the ballast while cranking." if circuit.ballast_ohm > 0.0 else ""
        yield Finding(
            Kind.CAUTION,
            "weak-spark-cranking",
            f"At {circuit.supply_v:g} V, while cranking, {asked:g} ms charge the coil to {amperes:.1f} A and"
            f" {energy:.1f} mJ. Below {case.limits.least_energy_mj:g} mJ it may not start.{ballast}",
            "The energy falls with the square of the current, just when the mixture is cold.",
            CIRCUIT,
            rpm=(0.0, case.limits.cranking_rpm),
        )


def left_on(case: Case) -> Iterator[Finding | Missing]:
    """The coil with the ignition on and the engine standing."""
    primary, limit = case.coil.primary, case.coil.heat_limit_w
    if primary is None or limit is None or not exceeds(primary.left_on_heat_w, limit):
        return
    yield Finding(
        Kind.CAUTION,
        "coil-left-on",
        f"With ignition on and engine stopped the coil would take {primary.highest_a:.1f} A and"
        f" {primary.left_on_heat_w:.0f} W; its limit is {limit:g} W. Prove that the unit switches it off before the"
        " ignition is left on.",
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
            "Repeated sparks are on, and the coil's current drives the tachometer. Switch them off, or give the"
            " tachometer a signal of its own.",
            "It counts every pulse of coil current. It reads too high, and an old one can be damaged.",
            rpm=(0.0, case.limits.cranking_rpm),
        )
