"""Findings about the map in the metal: the trigger, the rotor under its cap, and what the unit makes of the map."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from timing.distributor import (
    DistributorError,
    Phasing,
    PhasingKind,
    RotorSetting,
    TriggerPlace,
    rotor_advice,
    rotor_phasing,
)
from timing.distributor.phasing import HIGHEST_SPARK_DEG, LOWEST_SPARK_DEG
from timing.review.case import Case, Missing
from timing.review.facts import RotorFacts
from timing.review.finding import Finding, Kind, degrees, speed
from timing.unit import FittedMap, UnitCannotHold, fit_map

GEOMETRY = "derived from the geometry; the limits are common practice"
_NOISE_DEG = 1e-9


def trigger(case: Case) -> Iterator[Finding | Missing]:
    """Advance beyond the edge of a trigger from which the unit can only delay."""
    if case.engine.trigger_predicts:
        return
    edge = case.engine.trigger_deg
    if edge is None:
        yield Missing(
            "missing-trigger-position", "where the trigger's edge comes", "whether the advance stays below it"
        )
        return
    # The spark must come after the edge: on it is too early already.
    beyond = case.above(edge - 2.0 * _NOISE_DEG)
    if beyond is not None:
        yield Finding(
            Kind.STOP,
            "beyond-trigger",
            f"The total advance reaches {degrees(beyond.degrees)} at {speed(beyond.at_rpm)}, and the trigger's"
            f" edge comes at {degrees(edge)}. Keep the map below the edge, or turn the trigger earlier.",
            "The unit waits from the edge on: it cannot give a spark before it knows where the crank is.",
            "derived: a delay cannot be negative",
            rpm=beyond.rpm,
            vacuum=beyond.vacuum,
        )


def rotor(case: Case) -> Iterator[Finding | Missing]:
    """Rotor tip and post over the whole range of advance."""
    engine = case.engine
    if not engine.has_distributor:
        return
    facts = engine.rotor or RotorFacts()
    posts = engine.cylinders if facts.terminals is None else facts.terminals
    question = "whether the rotor tip still faces its post at both ends of the advance"
    if posts is None:
        yield Missing("missing-cylinders", "the number of cylinders", question)
    if facts.lacking:
        yield Missing("missing-rotor", _listed(facts.lacking), question)
    if posts is None or posts < 2 or facts.lacking:
        return
    measures = (facts.tip_radius_mm, facts.tip_width_mm, facts.post_width_mm, facts.radial_gap_mm)
    radius, tip, post, gap = (figure or 0.0 for figure in measures)
    # A spark beyond these is a slipped digit, and `total-advance` has said so.
    lowest, highest = np.clip([case.total.min(), case.total.max()], LOWEST_SPARK_DEG, HIGHEST_SPARK_DEG).tolist()
    setting = facts.setting(case.map.base_deg, engine.strokes)
    aligned = facts.aligned_at_deg if setting is None else setting.aligned_at_deg
    try:
        phasing = rotor_phasing(
            posts,
            lowest,
            highest,
            radius,
            tip,
            post,
            gap,
            aligned,
            strokes=engine.strokes,
            least_overlap_mm=case.limits.rotor_overlap_mm,
            least_ratio=case.limits.rotor_ratio,
        )
    except DistributorError as refusal:
        yield Finding(
            Kind.CAUTION,
            "rotor-figures",
            f"The figures of rotor and cap cannot be right: {refusal}. Measure them again.",
            "Without them nobody knows where the spark jumps to.",
            GEOMETRY,
        )
        return
    if phasing.kind is not PhasingKind.HOLDS:
        yield Finding(
            Kind.STOP,
            "rotor-phasing",
            " ".join([*phasing.sentences[:-1], *_remedy(phasing, setting, facts)]),
            "Every degree of programmed advance shows between rotor and post. A spark that finds another post nearer"
            " fires the wrong cylinder. " + phasing.sentences[-1],
            GEOMETRY,
        )
    elif aligned is None:
        yield Finding(
            Kind.NOTE,
            "rotor-not-measured",
            f"Tip and post must be in line at {degrees(phasing.best_aligned_deg)}: the map goes from"
            f" {degrees(lowest)} to {degrees(highest)}. {_MEASURE[facts.trigger_place]}",
            "In the middle of the range both ends are equally far from the post. " + phasing.sentences[-1],
            GEOMETRY,
        )


# What is still to be measured before anybody can say which bolt to turn.
_MEASURE = {
    None: "Record where the trigger sits: it decides what to move.",
    TriggerPlace.DISTRIBUTOR: "Measure how far the tip is from its post at the trigger's edge.",
    TriggerPlace.CRANK_OR_CAMSHAFT: "Measure the crank angle at which they are in line; the body sets it.",
}


def _remedy(phasing: Phasing, setting: RotorSetting | None, facts: RotorFacts) -> Sequence[str]:
    """The first remedy, as sentences; none where the trigger's place or the measure is not known, or none serves."""
    if setting is None:
        return ()
    advice = rotor_advice(
        phasing, setting, plate_moves=facts.plate_moves is not False, unit_takes_edge=facts.edge_deg is not None
    )
    return advice.remedies[0].sentences if advice.remedies else ()


def unit(case: Case) -> Iterator[Finding | Missing]:
    """What the unit holds of the map."""
    fitted = case.fitted
    if fitted is None:
        if case.unit is None:
            yield Missing("missing-unit-type", "the unit type", "how closely the unit can hold this map")
            return
        try:
            fitted = fit_map(case.map, case.unit)
        except UnitCannotHold as refusal:
            yield Finding(
                Kind.STOP,
                "unit-cannot-hold",
                f"The unit cannot hold this map: {'; '.join(refusal.problems)}. Change the map, or take another unit.",
                "What cannot be keyed in is not in the car.",
                "the unit type's own figures",
            )
            return
    yield from _fit(case, fitted)


def _fit(case: Case, fitted: FittedMap) -> Iterator[Finding]:
    source = "the unit type's own figures; the limit is common practice"
    if fitted.worst_error > case.limits.deviation_deg + _NOISE_DEG:
        yield Finding(
            Kind.CAUTION,
            "fit-deviation",
            f"The unit's curve is up to {fitted.worst_error:.2g}° away from the wanted one, at"
            f" {speed(fitted.at_rpm)}; more than {degrees(case.limits.deviation_deg)}. Move a bend of the curve"
            " to one of the unit's nodes, or accept it.",
            "The unit has its own nodes and steps, and goes straight between them.",
            source,
            rpm=(fitted.at_rpm, fitted.at_rpm),
        )
    if fitted.costs:
        yield Finding(
            Kind.NOTE,
            "fit-rounding",
            f"The unit rounds: {'; '.join(fitted.costs)}.",
            "The unit has its own steps.",
            source,
        )
    if fitted.unset:
        yield Finding(
            Kind.NOTE,
            "unit-entry-open",
            f"Left open: {'; '.join(fitted.unset)}.",
            "An entry that is not keyed in keeps whatever it had.",
            source,
        )


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
