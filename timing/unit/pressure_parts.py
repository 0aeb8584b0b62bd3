"""Vacuum advance and boost retard on a unit's own steps of pressure and degrees."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from timing.inputs import FloatArray
from timing.unit.entries import BoostNodes, RampEntries, Steps, TableEntries
from timing.unit.fit_notes import SAME, FitNotes, UnitCannotHold, span_of
from timing.units import convert
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable


def delivered_vacuum(
    target: VacuumRamp | VacuumTable | None,
    entries: RampEntries | TableEntries | None,
    *,
    never_above: bool,
    notes: FitNotes,
) -> VacuumRamp | VacuumTable | None:
    """The vacuum part as the unit holds it; one that adds nothing where the map has none and the unit asks for it.

    Parameters
    ----------
    target : VacuumRamp, VacuumTable or None
        What the map asks for.
    entries : RampEntries, TableEntries or None
        What the unit has.
    never_above : bool
        Whether rounding may not bring the spark further forward.
    notes : FitNotes
        Where what had to be rounded is noted.

    Returns
    -------
    VacuumRamp, VacuumTable or None
        On the unit's steps.

    Raises
    ------
    UnitCannotHold
        If the unit's vacuum part is of another kind, or a figure is beyond its range.
    """
    if target is not None and not _ever_adds(target):
        target = None
    if entries is None:
        if target is not None:
            raise UnitCannotHold("the map has a vacuum part, and the unit has none")
        return None
    if target is None and not entries.degrees.holds(0.0):
        raise UnitCannotHold(f"the map has no vacuum part, and the unit's adds {span_of(entries.degrees)} degrees")
    if isinstance(entries, TableEntries):
        return _delivered_table(target or _no_table(entries), entries, never_above, notes)
    if isinstance(target, VacuumTable):
        raise UnitCannotHold("the vacuum part is a table, and the unit holds a ramp")
    if target is None:
        nothing = _Ramp.of_nothing(entries)
        lowest = 0.0 if entries.from_rpm is None else entries.from_rpm.low
        return _vacuum_ramp(nothing, entries.unit, lowest)
    side = _Side("vacuum advance", "of vacuum", safe=-1, strict=never_above)
    ramp = _delivered_ramp(target.start, target.full, target.full_deg, entries, side, notes)
    from_rpm = _delivered_from_rpm(target.from_rpm, entries.from_rpm, never_above, notes)
    return _vacuum_ramp(ramp, entries.unit, from_rpm)


def delivered_boost(
    target: BoostRetard | None,
    entries: RampEntries | BoostNodes | None,
    *,
    never_above: bool,
    notes: FitNotes,
) -> BoostRetard | None:
    """The retard under boost as the unit holds it; none at all where the map has none and the unit asks for it.

    Parameters
    ----------
    target : BoostRetard or None
        What the map asks for.
    entries : RampEntries, BoostNodes or None
        What the unit has.
    never_above : bool
        Whether rounding may not bring the spark further forward.
    notes : FitNotes
        Where what had to be rounded is noted.

    Returns
    -------
    BoostRetard or None
        On the unit's steps.

    Raises
    ------
    UnitCannotHold
        If the unit has no such retard or one of another kind, or a figure is beyond its range.
    """
    if target is not None and not any(target.degrees):
        target = None
    if entries is None:
        if target is not None:
            raise UnitCannotHold("the map has a retard under boost, and the unit has none")
        return None
    side = _Side("retard under boost", "of boost", safe=1, strict=never_above)
    if isinstance(entries, BoostNodes):
        nodes = _kpa(entries.boost, entries.unit)
        if target is None:
            return BoostRetard(nodes, np.zeros(nodes.size))
        return BoostRetard(nodes, _delivered_retard(target, nodes, entries.degrees, side, notes))
    if target is None:
        if not entries.degrees.holds(0.0):
            raise UnitCannotHold(
                f"the map has no retard under boost, and the unit's takes {span_of(entries.degrees)} degrees"
            )
        ramp = _Ramp.of_nothing(entries)
    elif len(target.boost) > 2:
        raise UnitCannotHold(f"the retard under boost has {len(target.boost)} nodes, and the unit holds a ramp")
    else:
        start, full = target.boost
        ramp = _delivered_ramp(start, full, target.degrees[1], entries, side, notes)
    return BoostRetard(_kpa((ramp.start, ramp.full), entries.unit), (0.0, ramp.degrees))


@dataclass(frozen=True, slots=True)
class _Side:
    """What is being fitted, and which way an error is the safe one: -1 where less of it is, 1 where more is."""

    what: str
    of_what: str
    safe: int
    strict: bool

    def allows(self, error: FloatArray) -> bool:
        return not self.strict or bool((self.safe * error >= -SAME).all())


@dataclass(frozen=True, slots=True)
class _Ramp:
    """A ramp in the unit's own figures."""

    start: float
    full: float
    degrees: float

    def at(self, pressure: FloatArray) -> FloatArray:
        return np.asarray(np.interp(pressure, (self.start, self.full), (0.0, self.degrees)))

    @classmethod
    def of_nothing(cls, entries: RampEntries) -> _Ramp:
        start = entries.start.low
        return cls(start, entries.full.at_or_above(start + entries.full.step), 0.0)


def _delivered_ramp(
    start_kpa: float, full_kpa: float, degrees: float, entries: RampEntries, side: _Side, notes: FitNotes
) -> _Ramp:
    """Of all ramps on the steps next to the target one, the one that strays least; the safer of two equal ones."""
    start, full = (float(convert(kpa, "kPa", entries.unit)) for kpa in (start_kpa, full_kpa))
    target = _Ramp(start, full, degrees)
    beyond = [
        f"the {side.what} {what} {figure:.4g} {unit}, the unit holds {span_of(steps)}"
        for what, figure, steps, unit in (
            ("begins at", start, entries.start, entries.unit),
            ("is full at", full, entries.full, entries.unit),
            ("is", degrees, entries.degrees, "degrees"),
        )
        if not steps.reaches(figure)
    ]
    if beyond:
        raise UnitCannotHold(*beyond)
    candidates = [
        _Ramp(*figures)
        for figures in itertools.product(
            _beside(start, entries.start),
            # One step more, so that a ramp steeper than the steps can tell is not left without an end.
            [*_beside(full, entries.full), entries.full.at_or_above(full + entries.full.step)],
            _beside(degrees, entries.degrees),
        )
        if figures[0] < figures[1]
    ]
    # The difference of two ramps is straight between their corners: no other place can be worse.
    corners = np.unique([pressure for ramp in (target, *candidates) for pressure in (0.0, ramp.start, ramp.full)])
    errors = [ramp.at(corners) - target.at(corners) for ramp in candidates]
    allowed = [which for which, error in enumerate(errors) if side.allows(error)]
    if not allowed:
        raise UnitCannotHold(f"no {side.what} that the unit holds stays on the safe side of the map's")
    best = min(
        allowed,
        key=lambda which: (round(float(np.abs(errors[which]).max()), 9), -side.safe * float(errors[which].sum())),
    )
    delivered = candidates[best]
    notes.moved(f"the start of the {side.what}", start, delivered.start, entries.unit, entries.start.step)
    notes.moved(f"the end of the {side.what}", full, delivered.full, entries.unit, entries.full.step)
    notes.moved(f"full {side.what}", degrees, delivered.degrees, "degrees", entries.degrees.step)
    worst = int(np.abs(errors[best]).argmax())
    notes.strays(side.what, float(errors[best][worst]), f"{corners[worst]:.3g} {entries.unit} {side.of_what}")
    return delivered


def _delivered_from_rpm(target: float, steps: Steps | None, never_above: bool, notes: FitNotes) -> float:
    what = "the lowest speed of the vacuum advance"
    if steps is None:
        if target > 0:
            raise UnitCannotHold(f"{what} is {target:g} rpm, and the unit cannot be told one")
        return 0.0
    # Two speeds equally near: the higher one keeps the vacuum off where the engine idles.
    delivered = steps.at_or_above(target) if never_above else steps.nearest_upper(target)
    if not steps.reaches(target) or (never_above and steps.is_below(delivered, target)):
        raise UnitCannotHold(f"{what} is {target:g} rpm, the unit holds {span_of(steps)}")
    notes.moved(what, target, delivered, "rpm", steps.step)
    return delivered


def _delivered_table(
    part: VacuumRamp | VacuumTable, entries: TableEntries, never_above: bool, notes: FitNotes
) -> VacuumTable:
    speeds, vacua = np.array(entries.rpm), _kpa(entries.vacuum, entries.unit)
    own_speeds, own_vacua = _corners(part)
    # Both are bilinear between the nodes of the two, and so is their difference: no other place can be worse.
    all_speeds, all_vacua = np.union1d(speeds, own_speeds), np.union1d(vacua, own_vacua)
    target = np.asarray(part.advance(rpm=all_speeds[np.newaxis, :], vacuum=all_vacua[:, np.newaxis])).ravel()
    places = [
        f"{speed:.0f} rpm and {convert(vacuum, 'kPa', entries.unit):.3g} {entries.unit} of vacuum"
        for vacuum in all_vacua
        for speed in all_speeds
    ]
    for extreme in (int(target.argmin()), int(target.argmax())):
        if not entries.degrees.reaches(float(target[extreme])):
            raise UnitCannotHold(
                f"the vacuum part asks for {target[extreme]:.4g} degrees at {places[extreme]},"
                f" the unit holds {span_of(entries.degrees)}"
            )
    shares = np.asarray(np.kron(_shares(vacua, all_vacua), _shares(speeds, all_speeds)), dtype=np.float64)
    sampled = np.asarray(part.advance(rpm=speeds[np.newaxis, :], vacuum=vacua[:, np.newaxis])).ravel()
    cells = np.array([entries.degrees.nearest(degrees) for degrees in sampled.tolist()])
    side = _Side("vacuum advance", "of vacuum", safe=-1, strict=never_above)
    _move_to_safe_side(cells, np.ones(cells.size, dtype=bool), shares, target, entries.degrees, side)
    error = shares @ cells - target
    worst = int(np.abs(error).argmax())
    notes.strays(side.what, float(error[worst]), places[worst])
    return VacuumTable(rpm=speeds, vacuum=vacua, degrees=cells.reshape(vacua.size, speeds.size))


def _delivered_retard(part: BoostRetard, nodes: FloatArray, steps: Steps, side: _Side, notes: FitNotes) -> FloatArray:
    most = max(part.degrees)
    if not steps.reaches(most):
        raise UnitCannotHold(f"the retard under boost is {most:g} degrees, the unit holds {span_of(steps)}")
    everywhere = np.union1d(nodes, part.boost)
    target = np.asarray(part.retard(everywhere))
    shares = _shares(nodes, everywhere)
    # Two figures equally near: the larger retard is the safe one.
    delivered = np.array([steps.nearest_upper(degrees) for degrees in np.atleast_1d(part.retard(nodes)).tolist()])
    delivered[0] = 0.0
    free = np.arange(delivered.size) > 0
    _move_to_safe_side(delivered, free, shares, target, steps, side)
    delivered = np.maximum.accumulate(delivered)
    error = shares @ delivered - target
    worst = int(np.abs(error).argmax())
    notes.strays(side.what, float(error[worst]), f"{everywhere[worst]:.3g} kPa {side.of_what}")
    return delivered


def _move_to_safe_side(
    cells: FloatArray, free: NDArray[np.bool_], shares: FloatArray, target: FloatArray, steps: Steps, side: _Side
) -> None:
    """Move `cells` step by step until the table they span is nowhere on the unsafe side of `target`, if it must not.

    `free` says which may move, `shares` how much of each cell there is at each place. Each move is one step of the
    cell that counts most at the worst place. No cell moves further than the safest target within its reach, at which
    all is safe: what full load is given is not taken away to mend a place at light load.
    """
    extreme = np.where(shares > 0, target[:, np.newaxis], np.inf * -side.safe)
    if side.safe < 0:
        limit = np.array([steps.at_or_below(degrees) for degrees in extreme.min(axis=0).tolist()])
    else:
        limit = np.array([steps.at_or_above(degrees) for degrees in extreme.max(axis=0).tolist()])
    while not side.allows(error := shares @ cells - target):
        worst = int((side.safe * error).argmin())
        movable = np.where(free & (side.safe * (limit - cells) > SAME), shares[worst], 0.0)
        chosen = int(movable.argmax())
        if movable[chosen] <= 0:
            raise UnitCannotHold(f"no {side.what} that the unit holds stays on the safe side of the map's")
        cells[chosen] = steps.nearest(cells[chosen] + side.safe * steps.step)


def _shares(nodes: FloatArray, places: FloatArray) -> FloatArray:
    """How much of each node there is at each place, delivered outside them; shape (places, nodes)."""
    return np.column_stack([np.interp(places, nodes, unit) for unit in np.eye(nodes.size)])


def _corners(part: VacuumRamp | VacuumTable) -> tuple[FloatArray, FloatArray]:
    """The speeds and vacua between which `part` is bilinear."""
    if isinstance(part, VacuumTable):
        return np.array(part.rpm), np.array(part.vacuum)
    edges = np.array([part.start, part.full])
    if not part.from_rpm:
        return np.array([]), edges
    # A ramp that acts from a speed on has a step there: its foot is the last number below.
    return np.array([np.nextafter(part.from_rpm, 0.0), part.from_rpm]), edges


def _vacuum_ramp(ramp: _Ramp, unit: str, from_rpm: float) -> VacuumRamp:
    start, full = _kpa((ramp.start, ramp.full), unit).tolist()
    return VacuumRamp(start, full, ramp.degrees, from_rpm)


def _beside(figure: float, steps: Steps) -> list[float]:
    return sorted({steps.at_or_below(figure), steps.at_or_above(figure)})


def _kpa(figures: tuple[float, ...], unit: str) -> FloatArray:
    return np.asarray(convert(figures, unit, "kPa"))


def _ever_adds(part: VacuumRamp | VacuumTable) -> bool:
    return part.full_deg > 0 if isinstance(part, VacuumRamp) else bool(np.any(part.degrees))


def _no_table(entries: TableEntries) -> VacuumTable:
    vacua = _kpa(entries.vacuum, entries.unit)
    return VacuumTable(rpm=entries.rpm, vacuum=vacua, degrees=np.zeros((vacua.size, len(entries.rpm))))
