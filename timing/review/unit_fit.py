"""Findings about what the unit makes of a map: how far it strays, what it rounds and what it is not told."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from timing.comparison import Spoken
from timing.ignition_map import IgnitionMap
from timing.review.finding import Finding, Kind, degrees, speed
from timing.review.limits import ReviewLimits
from timing.tolerance import exceeds, falls_short
from timing.unit import FittedMap, RampEntries, Steps, UnitCannotHold, UnitType
from timing.units import convert
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

_OWN_FIGURES = "the unit type's own figures"


def refused(refusal: UnitCannotHold) -> Finding:
    """What the unit cannot hold, with every reason."""
    problems = " ".join(_as_sentence(problem) for problem in refusal.problems)
    return Finding(
        Kind.STOP,
        "unit-cannot-hold",
        f"The unit cannot hold this map. {problems} Change the map, or take another unit.",
        "What cannot be keyed in is not in the car.",
        _OWN_FIGURES,
    )


def deviation(fitted: FittedMap, limits: ReviewLimits) -> Iterator[Finding]:
    """A unit's curve that strays from the one that was set.

    Parameters
    ----------
    fitted : FittedMap
        What the unit delivers.
    limits : ReviewLimits
        How far it may stray.

    Yields
    ------
    Finding
        One caution, or nothing.
    """
    if exceeds(fitted.worst_error, limits.deviation_deg):
        yield Finding(
            Kind.CAUTION,
            "fit-deviation",
            f"The unit's curve is up to {fitted.worst_error:.2g}° away from the curve as set, at"
            f" {speed(fitted.at_rpm)}. The limit is {degrees(limits.deviation_deg)}: move a bend of the curve to one of"
            " the unit's points, or accept it.",
            "The unit has its own points and steps, and goes straight between them.",
            f"{_OWN_FIGURES}; the limit is common practice",
            rpm=(fitted.at_rpm, fitted.at_rpm),
        )


def left_open(fitted: FittedMap) -> Iterator[Finding]:
    """Entries of the unit that the map gives no figure for."""
    if fitted.unset:
        yield Finding(
            Kind.NOTE,
            "unit-entry-open",
            " ".join(_as_sentence(entry) for entry in fitted.unset),
            "An entry that is not keyed in keeps whatever it had.",
            _OWN_FIGURES,
        )


def rounding(
    as_set: IgnitionMap, delivered: IgnitionMap, unit: UnitType | None, limits: ReviewLimits, pressure: Spoken
) -> Iterator[Finding]:
    """What the unit rounds, besides the curve, by enough to be worth a word.

    Parameters
    ----------
    as_set, delivered : IgnitionMap
        The map, and what the unit delivers of it.
    unit : UnitType or None
        Whose steps they are: what is rounded by less than a tenth of a step is not said.
    limits : ReviewLimits
        What is rounded by less than `rounding_deg` is not said.
    pressure : callable
        How a pressure in kPa is said.

    Yields
    ------
    Finding
        One note, with a sentence for each figure.
    """
    said = [
        *_plain_figures(as_set, delivered, unit, limits),
        *_pressure_parts(as_set, delivered, unit, limits, pressure),
    ]
    if said:
        yield Finding(
            Kind.NOTE,
            "fit-rounding",
            " ".join(said),
            "The unit has its own steps.",
            _OWN_FIGURES,
        )


def _plain_figures(
    as_set: IgnitionMap, delivered: IgnitionMap, unit: UnitType | None, limits: ReviewLimits
) -> Iterator[str]:
    base, dwell, rev_limit = (None, None, None) if unit is None else (unit.base, unit.dwell_ms, unit.rev_limit_rpm)
    for label, value, rounded, steps, unit_name, least in (
        ("base timing", as_set.base_deg, delivered.base_deg, base, "°", limits.rounding_deg),
        ("dwell", as_set.dwell_ms, delivered.dwell_ms, dwell, " ms", 0.0),
        ("the rev limit", as_set.rev_limit_rpm, delivered.rev_limit_rpm, rev_limit, " rpm", 0.0),
    ):
        if value is not None and rounded is not None and _is_worth_a_word(value, rounded, steps, least):
            yield f"The unit rounds {label} from {value:.6g} to {rounded:.6g}{unit_name}."


def _pressure_parts(
    as_set: IgnitionMap, delivered: IgnitionMap, unit: UnitType | None, limits: ReviewLimits, pressure: Spoken
) -> Iterator[str]:
    asked, given = as_set.vacuum, delivered.vacuum
    if isinstance(asked, VacuumRamp) and isinstance(given, VacuumRamp):
        entries = unit.vacuum if unit is not None and isinstance(unit.vacuum, RampEntries) else None
        yield from _ramp_figures(asked, given, entries, limits)
    elif asked is not None and given is not None:
        yield from _strays(asked, given, limits, pressure)
    if as_set.boost is not None and delivered.boost is not None:
        yield from _retard_strays(as_set.boost, delivered.boost, limits, pressure)


def _ramp_figures(
    asked: VacuumRamp, given: VacuumRamp, entries: RampEntries | None, limits: ReviewLimits
) -> Iterator[str]:
    start, full, most, from_rpm = (
        (None, None, None, None)
        if entries is None
        else (entries.start, entries.full, entries.degrees, entries.from_rpm)
    )
    unit_name = "kPa" if entries is None else entries.unit
    for label, kpa, rounded_kpa, steps in (
        ("the start of the vacuum advance", asked.start, given.start, start),
        ("the end of the vacuum advance", asked.full, given.full, full),
    ):
        value, rounded = (float(convert(at, "kPa", unit_name)) for at in (kpa, rounded_kpa))
        if _is_worth_a_word(value, rounded, steps, 0.0):
            yield f"The unit rounds {label} from {value:.4g} to {rounded:.4g} {unit_name}."
    if _is_worth_a_word(asked.full_deg, given.full_deg, most, limits.rounding_deg):
        yield f"The unit rounds the full vacuum advance from {asked.full_deg:.4g} to {given.full_deg:.4g}°."
    if _is_worth_a_word(asked.from_rpm, given.from_rpm, from_rpm, 0.0):
        yield f"The unit rounds the vacuum's lowest speed from {asked.from_rpm:.6g} to {given.from_rpm:.6g} rpm."


def _strays(
    asked: VacuumRamp | VacuumTable, given: VacuumRamp | VacuumTable, limits: ReviewLimits, pressure: Spoken
) -> Iterator[str]:
    tables = [part for part in (asked, given) if isinstance(part, VacuumTable)]
    ramps = [part for part in (asked, given) if isinstance(part, VacuumRamp)]
    rpm = np.unique([*(speed for table in tables for speed in table.rpm), *(ramp.from_rpm for ramp in ramps)])
    vacuum = np.unique(
        [
            *(kpa for table in tables for kpa in table.vacuum),
            *(kpa for ramp in ramps for kpa in (ramp.start, ramp.full)),
        ]
    )
    by = np.asarray(given.advance(rpm=rpm[np.newaxis, :], vacuum=vacuum[:, np.newaxis])) - np.asarray(
        asked.advance(rpm=rpm[np.newaxis, :], vacuum=vacuum[:, np.newaxis])
    )
    row, column = np.unravel_index(int(np.abs(by).argmax()), by.shape)
    worst = float(by[row, column])
    if not falls_short(abs(worst), limits.rounding_deg):
        place = f"{speed(float(rpm[column]))} and {pressure(float(vacuum[row]))}"
        yield f"The unit's vacuum part is up to {_more_or_less(worst)} than set, at {place}."


def _retard_strays(asked: BoostRetard, given: BoostRetard, limits: ReviewLimits, pressure: Spoken) -> Iterator[str]:
    boost = np.union1d(asked.boost, given.boost)
    by = np.asarray(given.retard(boost)) - np.asarray(asked.retard(boost))
    worst = int(np.abs(by).argmax())
    if not falls_short(abs(float(by[worst])), limits.rounding_deg):
        place = f"{pressure(float(boost[worst]))} of boost"
        yield f"The unit's retard under boost is up to {_more_or_less(float(by[worst]))} than set, at {place}."


def _is_worth_a_word(value: float, rounded: float, steps: Steps | None, least: float) -> bool:
    by = abs(rounded - value)
    worth = max(least, steps.step / 10.0 if steps is not None else 0.0)
    return not falls_short(by, worth) and exceeds(by, 0.0)


def _more_or_less(by: float) -> str:
    return f"{abs(by):.2g}° {'more' if by > 0.0 else 'less'}"


def _as_sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."
