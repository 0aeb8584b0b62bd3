"""One review: every check in turn, the missing figures gathered, and the findings in order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from timing.comparison import Spoken, in_kpa
from timing.ignition_map import IgnitionMap
from timing.inputs import number
from timing.review import advance, fitting, pressure, rev_limit, road_notes, sparks, unit_fit
from timing.review.case import Case, Missing, bends
from timing.review.facts import CoilFacts, EngineFacts, PinkingNote
from timing.review.finding import Finding, Kind, delivered_and_set, in_order
from timing.review.limits import USUAL, ReviewLimits
from timing.unit import FittedMap, UnitCannotHold, UnitType, fit_map
from timing.units import HIGHEST_ALTITUDE_M, LOWEST_ALTITUDE_M
from timing.vacuum import VacuumRamp

Check = Callable[[Case], Iterator[Finding | Missing]]

CHECKS: Final[tuple[Check, ...]] = (
    advance.full_load,
    advance.too_little,
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
    pressure.steep,
    pressure.within_reach,
    pressure.boost,
    rev_limit.red_line,
    rev_limit.curve,
    sparks.dwell,
    sparks.current,
    sparks.while_cranking,
    sparks.left_on,
    sparks.tachometer,
    fitting.trigger,
    fitting.rotor,
    road_notes.pinking,
)


def review(
    map: IgnitionMap,
    engine: EngineFacts | None = None,
    unit_type: UnitType | None = None,
    coil: CoilFacts | None = None,
    *,
    altitude_m: float | None = None,
    limits: ReviewLimits = USUAL,
    fitted: FittedMap | None = None,
    pinking: Sequence[PinkingNote] = (),
    pressure: Spoken = in_kpa,
) -> list[Finding]:
    """Everything that is unsafe, odd or worth knowing about a map in one car.

    What is judged is the map as the unit delivers it. The map as set is judged beside it, and whatever is so of only
    one of the two says of which. Nothing here is proof: the findings are advice, and a person answers for each.

    Parameters
    ----------
    map : IgnitionMap
        The map as set. It alone will do: whatever cannot be checked without the rest is said in notes.
    engine, coil : EngineFacts, CoilFacts, optional
        What is known of the car.
    unit_type : UnitType, optional
        The unit it is meant for.
    altitude_m : float, optional
        Height of the workshop. [m]
    limits : ReviewLimits
        What the map is held against.
    fitted : FittedMap, optional
        What the unit delivers of it, if that has been worked out or recorded already; else it is worked out here.
    pinking : sequence of PinkingNote
        Where pinking was noted on the road with earlier versions.
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

    def case_of(whole: IgnitionMap) -> Case:
        one = _without_parts_of_nothing(whole)
        rpm, vacuum = bends(one, limits)
        return Case(
            map=one,
            meant=map,
            engine=engine or EngineFacts(),
            coil=coil or CoilFacts(),
            unit=unit_type,
            altitude_m=height,
            limits=limits,
            pressure=pressure,
            pinking=tuple(pinking),
            rpm=rpm,
            vacuum=vacuum,
            total=np.asarray(one.total(rpm=rpm[np.newaxis, :], vacuum=vacuum[:, np.newaxis])),
        )

    about_unit: list[Finding] = []
    if fitted is None and unit_type is not None:
        try:
            fitted = fit_map(map, unit_type)
        except UnitCannotHold as refusal:
            about_unit = [unit_fit.refused(refusal)]
    if fitted is None:
        findings, lacking = _found(case_of(map))
        if unit_type is None:
            lacking.append(Missing("missing-unit-type", "the unit type", "how closely the unit can hold this map"))
    else:
        delivered, lacking = _found(case_of(fitted.map))
        findings = delivered_and_set(delivered, _found(case_of(map))[0])
        about_unit += unit_fit.deviation(fitted, limits)
        about_unit += unit_fit.rounding(map, fitted.map, unit_type, limits, pressure)
        about_unit += unit_fit.left_open(fitted)
    return in_order([*findings, *about_unit, *_missing_figures(lacking)])


def _without_parts_of_nothing(map: IgnitionMap) -> IgnitionMap:
    """The map without a vacuum or boost part that never does anything, as a unit that asks for one is told."""
    vacuum, boost = map.vacuum, map.boost
    most = vacuum.full_deg if isinstance(vacuum, VacuumRamp) else np.any(vacuum.degrees) if vacuum else 0.0
    return replace(map, vacuum=vacuum if most else None, boost=boost if boost and any(boost.degrees) else None)


def _found(case: Case) -> tuple[list[Finding], list[Missing]]:
    """What every check finds in one map, and what each lacks."""
    findings: list[Finding] = []
    lacking: list[Missing] = []
    for check in CHECKS:
        for found in check(case):
            if isinstance(found, Missing):
                lacking.append(found)
            else:
                findings.append(found)
    return findings, lacking


def _missing_figures(lacking: Iterable[Missing]) -> list[Finding]:
    """One note for each missing figure, with everything that cannot be checked without it."""
    questions: dict[str, list[str]] = {}
    labels: dict[str, str] = {}
    for missing in lacking:
        labels[missing.code] = missing.label
        asked = questions.setdefault(missing.code, [])
        if missing.question not in asked:
            asked.append(missing.question)
    return [
        Finding(
            Kind.NOTE,
            code,
            f"Not recorded: {labels[code]}. Cannot check without it {'. Nor '.join(asked)}.",
            "A check that lacks its figure has not been made.",
        )
        for code, asked in questions.items()
    ]
