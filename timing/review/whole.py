"""One review: every check in turn, the missing figures gathered, and the findings in order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final

import numpy as np

from timing.comparison import Spoken, in_kpa
from timing.ignition_map import IgnitionMap
from timing.inputs import number
from timing.review import advance, fitting, pressure, sparks
from timing.review.case import Case, Missing, bends
from timing.review.facts import CoilFacts, EngineFacts
from timing.review.finding import Finding, Kind, in_order
from timing.review.limits import USUAL, ReviewLimits
from timing.unit import FittedMap, UnitType
from timing.units import HIGHEST_ALTITUDE_M, LOWEST_ALTITUDE_M

Check = Callable[[Case], Iterator[Finding | Missing]]

CHECKS: Final[tuple[Check, ...]] = (
    advance.full_load,
    advance.light_load,
    advance.anywhere,
    advance.cranking,
    advance.slope,
    advance.dip,
    advance.stops_rising,
    advance.hunting,
    advance.steps,
    advance.octane,
    pressure.at_idle,
    pressure.within_reach,
    pressure.boost,
    sparks.rev_limit,
    sparks.dwell,
    sparks.while_cranking,
    sparks.left_on,
    sparks.tachometer,
    fitting.trigger,
    fitting.rotor,
    fitting.unit,
)


def review(
    map: IgnitionMap,
    engine: EngineFacts | None,
    unit_type: UnitType | None,
    coil: CoilFacts | None,
    *,
    altitude_m: float | None = None,
    limits: ReviewLimits = USUAL,
    fitted: FittedMap | None = None,
    pressure: Spoken = in_kpa,
) -> list[Finding]:
    """Everything that is unsafe, odd or worth knowing about a map in one car.

    Nothing here is proof: the findings are advice, and a person answers for each.

    Parameters
    ----------
    map : IgnitionMap
        The map.
    engine, coil : EngineFacts, CoilFacts or None
        What is known of the car. A check that lacks a figure gives a note which says what cannot be judged.
    unit_type : UnitType or None
        The unit it is meant for.
    altitude_m : float, optional
        Height of the workshop. [m]
    limits : ReviewLimits
        What the map is held against.
    fitted : FittedMap, optional
        What the unit holds of it, if that has been worked out already.
    pressure : callable
        How a pressure in kPa is said, so that a person who thinks in inches of mercury reads them.

    Returns
    -------
    list of Finding
        Stops, then cautions, then notes, each by speed.

    Raises
    ------
    TimingError
        If the altitude is not a number, or outside the standard atmosphere's lowest layer.
    """
    height = None
    if altitude_m is not None:
        height = number(altitude_m, "the workshop's altitude", low=LOWEST_ALTITUDE_M, high=HIGHEST_ALTITUDE_M, unit="m")
    rpm, vacuum = bends(map, limits)
    case = Case(
        map=map,
        engine=engine or EngineFacts(),
        coil=coil or CoilFacts(),
        unit=unit_type,
        fitted=fitted,
        altitude_m=height,
        limits=limits,
        pressure=pressure,
        rpm=rpm,
        vacuum=vacuum,
        total=np.asarray(map.total_advance().table(rpm=rpm, vacuum=vacuum)),
    )
    findings: list[Finding] = []
    lacking: list[Missing] = []
    for check in CHECKS:
        for found in check(case):
            if isinstance(found, Missing):
                lacking.append(found)
            else:
                findings.append(found)
    return in_order(findings + _missing_figures(lacking))


def _missing_figures(lacking: Iterable[Missing]) -> list[Finding]:
    """One note for each missing figure, with everything that cannot be judged without it."""
    questions: dict[str, list[str]] = {}
    figures: dict[str, str] = {}
    for missing in lacking:
        figures[missing.code] = missing.figure
        asked = questions.setdefault(missing.code, [])
        if missing.question not in asked:
            asked.append(missing.question)
    return [
        Finding(
            Kind.NOTE,
            code,
            f"Not recorded: {figures[code]}. Without that nobody can say {', nor '.join(asked)}.",
            "A check that lacks its figure has not been made.",
        )
        for code, asked in questions.items()
    ]
