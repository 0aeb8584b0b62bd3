"""One reading that the others contradict: found among those that belong with it, not against an unrelated mean."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from timing.regression import LeastSquares, student_t
from timing.strobe.limits import StrobeLimits
from timing.strobe.readings import grouped_by_speed
from timing.tolerance import exceeds, falls_short


class Outlier(NamedTuple):
    """A reading that the others contradict.

    Attributes
    ----------
    place : int
        Its place in the lists, counted from 0.
    rpm : float
        Its speed. [rpm at the crank]
    off_deg : float
        How much later than the others it is. [degrees of crank, late positive]
    against : str
        Which others: the end of a sentence.
    """

    place: int
    rpm: float
    off_deg: float
    against: str


def outlier_from_fit(
    fit: LeastSquares, *, rpm: Sequence[float], residuals: Sequence[float], limits: StrobeLimits
) -> Outlier | None:
    """The one reading that the fit of all the others contradicts, if there is one.

    Parameters
    ----------
    fit : LeastSquares
        Of `residuals`, by a line over speed or by their mean.
    rpm : sequence of float, length n
        Engine speeds. [rpm at the crank]
    residuals : sequence of float, length n
        How late each reading is. [degrees of crank]
    limits : StrobeLimits
        Used here: outlier_chance, outlier_deg and same_speed_rpm.

    Returns
    -------
    Outlier or None
        None too where another reading at the same speed bears it out: then the line is wrong, and not the reading.

    References
    ----------
    The largest externally studentised residual, against Student's t at `outlier_chance` shared out over all readings
    on both sides (Bonferroni): Cook and Weisberg 1982, section 2.2.2 (from memory).
    """
    if fit.df < 2:
        return None
    scores = [(abs(score), at) for at in range(len(rpm)) if (score := fit.studentised(at)) is not None]
    if not scores:
        return None
    score, at = max(scores)
    off = fit.misfit_from_others(at)
    if off is None or score <= student_t(1.0 - limits.outlier_chance / (2 * len(rpm)), fit.df - 1):
        return None
    if falls_short(abs(off), limits.outlier_deg):
        return None
    nearness = max(limits.outlier_deg, fit.step)
    for other in range(len(rpm)):
        at_one_speed = other != at and not exceeds(abs(rpm[other] - rpm[at]), limits.same_speed_rpm)
        if at_one_speed and not exceeds(abs(residuals[other] - residuals[at]), nearness):
            return None
    return Outlier(at, rpm[at], off, "the line of the others")


def outlier_among_speeds(*, rpm: Sequence[float], residuals: Sequence[float], limits: StrobeLimits) -> Outlier | None:
    """The one reading, of a few with the curve flat, that contradicts those at its own or the neighbouring speeds.

    Parameters
    ----------
    rpm : sequence of float, length n
        Engine speeds. [rpm at the crank]
    residuals : sequence of float, length n
        How late each reading is. [degrees of crank]
    limits : StrobeLimits
        Used here: repeat_deg and same_speed_rpm.

    Returns
    -------
    Outlier or None
        None where no reading or more than one is further than `repeat_deg` from those it belongs with, or where those
        do not agree among themselves.

    Notes
    -----
    A reading belongs with two or more others at its own speed; a speed read once belongs between its neighbours. A
    reading alone at the lowest or highest speed is never singled out: a mechanism that is not locked looks the same.
    Common practice, no source.
    """
    groups = grouped_by_speed(rpm, limits.same_speed_rpm)
    found = [
        Outlier(place, rpm[place], off, against)
        for place, off, against in _misfits(groups, rpm, residuals, limits)
        if exceeds(abs(off), limits.repeat_deg)
    ]
    return found[0] if len(found) == 1 else None


def _misfits(
    groups: tuple[tuple[int, ...], ...], rpm: Sequence[float], residuals: Sequence[float], limits: StrobeLimits
) -> Iterator[tuple[int, float, str]]:
    """Each reading that can be compared with others which agree: its place, how much later it is, and than which."""
    for at, group in enumerate(groups):
        if len(group) > 2:
            for place in group:
                others = [residuals[other] for other in group if other != place]
                if not exceeds(max(others) - min(others), limits.repeat_deg):
                    mean = math.fsum(others) / len(others)
                    yield place, residuals[place] - mean, f"the others at {rpm[place]:.0f} rpm"
        elif len(group) == 1 and 0 < at < len(groups) - 1:
            (place,) = group
            beside = (*groups[at - 1], *groups[at + 1])
            near = [residuals[other] for other in beside]
            if not exceeds(max(near) - min(near), limits.repeat_deg):
                before, after = (
                    (_mean(rpm, side), _mean(residuals, side)) for side in (groups[at - 1], groups[at + 1])
                )
                share = (rpm[place] - before[0]) / (after[0] - before[0])
                between = before[1] + share * (after[1] - before[1])
                yield place, residuals[place] - between, f"{before[0]:.0f} and {after[0]:.0f} rpm"


def _mean(values: Sequence[float], places: tuple[int, ...]) -> float:
    return math.fsum(values[place] for place in places) / len(places)
