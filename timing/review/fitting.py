"""Findings about the map in the metal: the trigger, the rotor under its cap, and what the unit makes of the map."""

from __future__ import annotations

import math
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
from timing.review.limits import ReviewLimits
from timing.tolerance import falls_short

GEOMETRY = "derived from the geometry; the limits are common practice"

_PROVE_IT = "Prove it with a sighted old cap and the strobe, at cranking, idle and highest advance."


def trigger(case: Case) -> Iterator[Finding | Missing]:
    """Sparks that come before their trigger's own edge: timed from the edge before, where the unit can."""
    edge = case.engine.trigger_deg
    if edge is None:
        yield Missing(
            "missing-trigger-position", "where the trigger's edge comes", "whether every spark comes after its own edge"
        )
        return
    beyond = case.above(edge)
    if beyond is None:
        return
    if case.engine.times_from_edge_before:
        kind, advice = (
            Kind.NOTE,
            "Such sparks are timed from the edge before, less exactly while the speed changes.",
        )
    else:
        kind = Kind.STOP
        advice = "This unit cannot time a spark from the edge before. Keep the map below the edge, or set it earlier."
    yield Finding(
        kind,
        "beyond-trigger",
        f"The total advance reaches {degrees(beyond.degrees)} at {speed(beyond.at_rpm)}; the trigger's edge comes at"
        f" {degrees(edge)}. {advice}",
        "A unit can only wait from an edge on.",
        "derived: a delay cannot be negative",
        rpm=beyond.rpm,
        vacuum=beyond.vacuum,
    )


def rotor(case: Case) -> Iterator[Finding | Missing]:
    """Rotor tip and terminal over the whole range of advance."""
    engine = case.engine
    if not engine.has_rotor:
        return
    facts = engine.rotor or RotorFacts()
    posts = engine.cylinders if facts.terminals is None else facts.terminals
    question = "whether the rotor tip still faces its terminal at both ends of the advance"
    if posts is None:
        yield Missing("missing-cylinders", "the number of cylinders", question)
    if facts.lacking:
        yield Missing("missing-rotor", _listed(facts.lacking), question)
    measures = (facts.tip_radius_mm, facts.tip_width_mm, facts.post_width_mm, facts.radial_gap_mm)
    radius, tip, post, gap = measures
    if posts is None or posts < 2 or radius is None or tip is None or post is None or gap is None:
        return
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
            f"The figures of rotor and cap cannot be right. {_in_sentences(refusal)} Measure them again.",
            "Without them nobody knows where the spark jumps to.",
            GEOMETRY,
        )
        return
    if phasing.kind is not PhasingKind.HOLDS:
        remedy = _remedy(phasing, setting, facts) or (_rotor_advice(phasing, lowest, highest),)
        yield Finding(
            Kind.STOP,
            "rotor-phasing",
            " ".join([_worse_end(phasing, case.limits), *remedy]),
            f"A spark that finds another terminal nearer fires the wrong cylinder. {_PROVE_IT}",
            GEOMETRY,
        )
    elif aligned is None and facts.is_locked:
        yield Missing("missing-rotor-phase", "the advance at which rotor tip and terminal are in line", question)
    elif aligned is None:
        yield Finding(
            Kind.NOTE,
            "rotor-not-measured",
            f"Tip and terminal must be in line at {degrees(phasing.best_aligned_deg)}: "
            f"the map goes from {degrees(lowest)} to {degrees(highest)}."
            f" {_MEASURE[facts.trigger_place]}",
            f"In the middle of the range both ends are equally far from the terminal. {_PROVE_IT}",
            GEOMETRY,
        )


def _worse_end(phasing: Phasing, limits: ReviewLimits) -> str:
    """What is wrong at that end of the advance at which it is worse."""
    ends = (phasing.lowest, phasing.highest)
    end = min(ends, key=lambda end: end.overlap_mm)
    if falls_short(end.overlap_mm, limits.rotor_overlap_mm):
        return (
            f"At {degrees(end.spark_deg)} the rotor tip {_overlap_in_words(end.overlap_mm)}. Limit: "
            f"{limits.rotor_overlap_mm:g} mm of overlap."
        )
    end = min(ends, key=lambda end: end.ratio)
    return (
        f"At {degrees(end.spark_deg)} the next terminal is only {end.ratio:.1f} times as far as the own; the limit"
        f" is {limits.rotor_ratio:g} times."
    )


def _rotor_advice(phasing: Phasing, lowest: float, highest: float) -> str:
    """What to do where nobody knows which part moves. The map goes from `lowest` to `highest`. [degrees of crank]"""
    if phasing.kind is not PhasingKind.RANGE_TOO_WIDE:
        best, now = degrees(phasing.best_aligned_deg), degrees(phasing.aligned_at_deg)
        return f"Set the rotor so that tip and terminal are in line at {best}, not {now}."
    widest = math.floor(phasing.widest_range_deg)
    most = f"; {widest}° is the most." if widest else "."
    return f"Even centred, {degrees(lowest)} to {degrees(highest)} is too wide for this rotor and cap{most}"


def _in_sentences(refusal: DistributorError) -> str:
    """A refusal with its reason after a colon, as one or two whole sentences."""
    return " ".join(f"{part[0].upper()}{part[1:]}." for part in str(refusal).split(": "))


# What is still to be measured before anybody can say which bolt to turn.
_MEASURE = {
    None: "Record where the trigger sits: it decides what to move.",
    TriggerPlace.DISTRIBUTOR: "Measure how far the tip is from its terminal at the trigger's edge.",
    TriggerPlace.CRANK_OR_CAMSHAFT: "Measure the crank angle at which they are in line; the body sets it.",
}


def _overlap_in_words(overlap_mm: float) -> str:
    if overlap_mm < 0.0:
        return f"clears its terminal by {-overlap_mm:.1f} mm"
    return f"covers its terminal by {overlap_mm:.1f} mm"


def _remedy(phasing: Phasing, setting: RotorSetting | None, facts: RotorFacts) -> Sequence[str]:
    """The first remedy, as sentences; none where the trigger's place or the measure is not known, or none serves."""
    if setting is None:
        return ()
    advice = rotor_advice(
        phasing, setting, plate_moves=facts.plate_moves is not False, unit_takes_edge=facts.edge_deg is not None
    )
    return advice.remedies[0].sentences if advice.remedies else ()


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
