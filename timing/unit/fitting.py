"""Fitting a map to what a unit can hold: what it then holds, what that costs, or why it cannot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias, TypeVar, get_args

from timing.gridfit import GridFit, GridFitError, fit_free, fit_to
from timing.ignition_map import IgnitionMap, RevLimitManner
from timing.unit.entries import FixedNodes, UnitError
from timing.unit.fit_notes import SAME, FitNotes, UnitCannotHold, span_of
from timing.unit.pressure_parts import delivered_boost, delivered_vacuum
from timing.unit.unit_type import UnitType

Variant: TypeAlias = Literal["nearest", "never above"]
"""nearest: as close as the unit can come; never above: nowhere more advanced than the map, for one at the edge of
knock."""

_Part = TypeVar("_Part")


@dataclass(frozen=True, slots=True)
class FittedMap:
    """A map as a unit holds it.

    Attributes
    ----------
    map : IgnitionMap
        What the unit then holds, every figure on its steps; the curve counted from the base as always.
    curve_fit : GridFit
        The node values as the unit counts them.
    worst_error : float
        Largest distance of base and speed curve together from what was asked for. [degrees of crank]
    at_rpm : float
        Where that stands. [rpm at the crank]
    costs : tuple of str
        A sentence for everything else that had to be rounded.
    unset : tuple of str
        A sentence for every entry of the unit that the map gives no figure for.
    """

    map: IgnitionMap
    curve_fit: GridFit
    worst_error: float
    at_rpm: float
    costs: tuple[str, ...] = ()
    unset: tuple[str, ...] = ()


def fit_map(map: IgnitionMap, unit: UnitType, *, variant: Variant = "nearest") -> FittedMap:
    """`map` as `unit` can hold it.

    The speed curve is fitted as `timing.gridfit.fit_to` does, and takes up what rounding the base left over. A ramp
    is rounded to the combination of steps that strays least. A vacuum table and nodes of boost are rounded where they
    stand, so that full load stays what it was. A rev limit is only ever rounded down. A map already fitted to the unit
    comes back as it is.

    Parameters
    ----------
    map : IgnitionMap
        What is asked for.
    unit : UnitType
        What there is.
    variant : 'nearest' or 'never above'
        Whether rounding may bring the total advance above the map's.

    Returns
    -------
    FittedMap
        What the unit then holds, and what that costs.

    Raises
    ------
    UnitCannotHold
        If something in the map is beyond the unit: out of a range, of a kind it does not have, or nothing it holds
        stays below. Every such thing is named at once.
    UnitError
        If the variant is unknown.
    """
    if variant not in get_args(Variant):
        raise UnitError(f"a map is fitted nearest or never above, not {variant!r}")
    never_above = variant == "never above"
    notes = FitNotes()
    problems: list[str] = []

    def tried(part: Callable[[], _Part]) -> _Part | None:
        try:
            return part()
        except UnitCannotHold as refusal:
            problems.extend(refusal.problems)
            return None

    base = tried(lambda: _delivered_base(map, unit, never_above, notes))
    curve_fit = tried(lambda: _delivered_curve(map, unit, map.base_deg if base is None else base, never_above))
    vacuum = tried(lambda: delivered_vacuum(map.vacuum, unit.vacuum, never_above=never_above, notes=notes))
    boost = tried(lambda: delivered_boost(map.boost, unit.boost, never_above=never_above, notes=notes))
    dwell = tried(lambda: _delivered_dwell(map, unit, notes))
    rev_limit = tried(lambda: _delivered_rev_limit(map, unit, notes))
    manner = tried(lambda: _delivered_manner(map, unit, notes))
    tried(lambda: _refuse_unless_sparks_delivered(map, unit))
    if base is None or curve_fit is None or problems:
        raise UnitCannotHold(*problems)
    counted = curve_fit.curve if unit.counted_from == "base" else curve_fit.curve.shift(-base)
    return FittedMap(
        map=replace(
            map,
            base_deg=base,
            curve=counted,
            vacuum=vacuum,
            boost=boost,
            dwell_ms=dwell,
            rev_limit_rpm=rev_limit,
            rev_limit_manner=manner,
        ),
        curve_fit=curve_fit,
        worst_error=curve_fit.worst_error,
        at_rpm=curve_fit.at_rpm,
        costs=tuple(notes.costs),
        unset=tuple(notes.unset),
    )


def _delivered_base(map: IgnitionMap, unit: UnitType, never_above: bool, notes: FitNotes) -> float:
    target, steps = map.base_deg, unit.base
    if steps is None:
        return target
    delivered = steps.at_or_below(target) if never_above else steps.nearest(target)
    if not steps.reaches(target) or (never_above and steps.is_below(target, delivered)):
        raise UnitCannotHold(f"base timing is {target:g} degrees, the unit holds {span_of(steps)}")
    notes.moved("base timing", target, delivered, "degrees", steps.step)
    return delivered


def _delivered_curve(map: IgnitionMap, unit: UnitType, base: float, never_above: bool) -> GridFit:
    steps, absolute = unit.degree, unit.counted_from == "absolute"
    asked = map.curve.shift(map.base_deg) if absolute else map.curve
    beyond = [
        f"the curve asks for {degrees:.4g} degrees at {rpm:g} rpm, the unit holds {span_of(steps)}"
        for rpm, degrees in zip(asked.rpm, asked.degrees, strict=True)
        if not steps.reaches(degrees)
    ]
    if beyond:
        raise UnitCannotHold(*beyond)
    target = asked if absolute else asked.shift(map.base_deg - base)
    holds = (steps.step, steps.low, steps.high)
    nodes = unit.nodes
    try:
        if isinstance(nodes, FixedNodes):
            return fit_to(target, nodes.rpm, *holds, never_above=never_above)
        if len(target.rpm) == nodes.count and all(nodes.speeds.holds(rpm) for rpm in target.rpm):
            as_it_stands = fit_to(target, target.rpm, *holds, never_above=never_above)
            if as_it_stands.worst_error <= SAME:  # other places may do as well, but these are the ones in the car
                return as_it_stands
        return fit_free(target, nodes.count, nodes.speeds.figures(), *holds, never_above=never_above)
    except GridFitError as problem:
        raise UnitCannotHold(str(problem)) from problem


def _delivered_dwell(map: IgnitionMap, unit: UnitType, notes: FitNotes) -> float | None:
    target, steps = map.dwell_ms, unit.dwell_ms
    if target is None:
        if steps is not None:
            notes.unset.append("the unit asks for a dwell, and the map gives none")
        return None
    if steps is None:
        raise UnitCannotHold(f"the map asks for {target:g} ms of dwell, and the unit cannot be told")
    if not steps.reaches(target):
        raise UnitCannotHold(f"dwell is {target:g} ms, the unit holds {span_of(steps)}")
    delivered = steps.nearest(target)
    notes.moved("dwell", target, delivered, "ms", steps.step)
    return delivered


def _delivered_rev_limit(map: IgnitionMap, unit: UnitType, notes: FitNotes) -> float | None:
    target, steps = map.rev_limit_rpm, unit.rev_limit_rpm
    if target is None:
        if steps is not None:
            notes.unset.append("the unit asks for a rev limit, and the map gives none")
        return None
    if steps is None:
        raise UnitCannotHold(f"the map has a rev limit of {target:g} rpm, and the unit has none")
    delivered = steps.at_or_below(target)
    if not steps.reaches(target) or steps.is_below(target, delivered):
        raise UnitCannotHold(f"the rev limit is {target:g} rpm, the unit holds {span_of(steps)}")
    notes.moved("the rev limit", target, delivered, "rpm", steps.step)
    return delivered


def _delivered_manner(map: IgnitionMap, unit: UnitType, notes: FitNotes) -> RevLimitManner | None:
    target, manners = map.rev_limit_manner, unit.rev_limit_manners
    if map.rev_limit_rpm is None or not manners:
        return target
    if target is None:
        if len(manners) == 1:
            return manners[0]
        notes.unset.append("the unit asks whether the rev limit is soft or hard, and the map does not say")
    elif target not in manners:
        raise UnitCannotHold(f"the rev limit is {target}, and the unit's can only be {manners[0]}")
    return target


def _refuse_unless_sparks_delivered(map: IgnitionMap, unit: UnitType) -> None:
    if map.repeated_sparks and not unit.repeated_sparks:
        raise UnitCannotHold("the map asks for repeated sparks while cranking, and the unit gives none")
