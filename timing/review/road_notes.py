"""Findings about pinking that was noted on the road, and what this version does about it."""

from __future__ import annotations

from collections.abc import Iterator

from timing.review.case import Case, Missing
from timing.review.finding import Finding, Kind, degrees, speed
from timing.tolerance import exceeds


def pinking(case: Case) -> Iterator[Finding | Missing]:
    """Places where pinking was noted: unchanged, or changed by other than the retard that was suggested."""
    for note in case.pinking:
        now = float(case.map.total(rpm=note.rpm, vacuum=note.vacuum))
        taken = note.advance_deg - now
        load = f"{case.pressure(abs(note.vacuum))} of {'boost' if note.vacuum < 0.0 else 'vacuum'}"
        place = f"at {speed(note.rpm)} and {load}"
        rpm, vacuum = (note.rpm, note.rpm), (note.vacuum, note.vacuum)
        if not exceeds(taken, case.limits.rounding_deg):
            yield Finding(
                Kind.CAUTION,
                "pinking-unchanged",
                f"Pinking was noted {place}, with {degrees(note.advance_deg)} of advance. This version gives"
                f" {degrees(now)} there: take some out, or write down why not.",
                "An engine that pinked will pink again with the same spark and fuel.",
                rpm=rpm,
                vacuum=vacuum,
            )
        elif note.retard_deg is not None and exceeds(abs(taken - note.retard_deg), case.limits.rounding_deg):
            yield Finding(
                Kind.NOTE,
                "retard-rounded",
                f"{degrees(note.retard_deg)} less was suggested {place}. {_how_rounded(case, note.retard_deg, taken)}",
                "More retard than was suggested is the safe side; less is to be proved on the road again.",
                rpm=rpm,
                vacuum=vacuum,
            )


def _how_rounded(case: Case, suggested: float, taken: float) -> str:
    way = "up" if taken > suggested else "down"
    step = None if case.unit is None else case.unit.degree.step
    if step is not None and _is_between_steps(suggested, step) and not exceeds(abs(taken - suggested), step):
        return f"The unit steps by {step:g}°: that was rounded {way} to {degrees(taken)}."
    return f"This version takes out {degrees(taken)}, which is {'more' if way == 'up' else 'less'}."


def _is_between_steps(degrees_: float, step: float) -> bool:
    off = abs(degrees_ / step - round(degrees_ / step)) * step
    return exceeds(off, 0.0)
