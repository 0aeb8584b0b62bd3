"""What may enter a strobe session: one speed and one advance for each reading, or a refusal that says what is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import FloatArray, number, within
from timing.tolerance import exceeds

# Beyond these a reading is a slipped digit: no distributor fires a spark half a turn early, or at 30 000 rpm.
HIGHEST_RPM = 30_000.0
LARGEST_ADVANCE_DEG = 180.0


class StrobeError(TimingError):
    """Strobe readings that cannot be worked with, or a question they cannot answer."""


class LampKind(StrEnum):
    """The kind of strobe lamp, which decides what may be wrong with its readings."""

    # Flashes with the spark; the advance is read off the scale on the engine.
    PLAIN = "plain"
    # Flashes later by the angle on its dial, which it works out from the time between two sparks: it adds a delay of
    # its own, and takes the sparks of a wasted-spark coil for twice the speed.
    DIAL_BACK = "dial_back"


class Disagreement(NamedTuple):
    """Two readings at one speed: how far they are apart, and their speed. [degrees of crank, rpm at the crank]"""

    apart_deg: float
    rpm: float


def checked_readings(rpm: ArrayLike, measured: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Speeds and measured advances, one of each for each reading.

    Parameters
    ----------
    rpm : array, shape (n,)
        Engine speeds, above 0, at least one. [rpm at the crank]
    measured : array, shape (n,)
        Advance read with the strobe. [degrees of crank before top dead centre]

    Returns
    -------
    tuple of two arrays, each of shape (n,)
        The same as new arrays of float64.

    Raises
    ------
    StrobeError
        If lists differ in length, or there is no reading.
    TimingError
        If a figure is not finite or out of its range.
    """
    speeds = within(rpm, "a speed", above=0.0, high=HIGHEST_RPM, unit="rpm")
    seen = checked_advance(measured, "a measured advance")
    if speeds.ndim != 1:
        raise StrobeError("readings must be a list of speeds and a list of measured advances")
    if not speeds.size:
        raise StrobeError("there are no readings")
    refuse_other_length(speeds, seen, "measured advances")
    return speeds, seen


def checked_mark_error(degrees: float | None) -> float | None:
    """The timing mark's error against the piston stop, if it was measured, or a refusal. [degrees of crank]"""
    if degrees is None:
        return None
    return number(degrees, "the error of the timing mark", low=-180.0, high=180.0, unit="degrees")


def checked_advance(values: ArrayLike, what: str) -> FloatArray:
    """Refuse what no spark could have.

    Parameters
    ----------
    values : float or array
        Advances. [degrees of crank before top dead centre]
    what : str
        What they are called in a refusal.

    Returns
    -------
    array
        The same as float64, of the same shape.

    Raises
    ------
    TimingError
        If an advance is not finite or beyond half a turn.
    """
    return within(values, what, low=-LARGEST_ADVANCE_DEG, high=LARGEST_ADVANCE_DEG, unit="degrees")


def refuse_other_length(speeds: FloatArray, others: FloatArray, what: str) -> None:
    """Refuse lists that do not go together.

    Parameters
    ----------
    speeds : array, shape (n,)
        Engine speeds. [rpm at the crank]
    others : array
        What there must be one of for each speed.
    what : str
        What the others are called in the refusal.

    Raises
    ------
    StrobeError
        If `others` has another shape than `speeds`.
    """
    if others.shape != speeds.shape:
        raise StrobeError(f"{speeds.size} speeds but {others.size} {what}: each reading needs one of each")


def step_of_scale(measured: FloatArray, finest_step_deg: float) -> float:
    """The step to which the readings of a session were taken.

    Parameters
    ----------
    measured : array, shape (n,)
        Advance as read. [degrees of crank]
    finest_step_deg : float
        The smallest step to which the workshop reads its scales; 0 where steps are not to count. [degrees of crank]

    Returns
    -------
    float
        Whole degrees where every reading is one, else `finest_step_deg`. [degrees of crank]
    """
    if finest_step_deg and bool((measured == np.round(measured)).all()):
        return max(finest_step_deg, 1.0)
    return finest_step_deg


def grouped_by_speed(rpm: Sequence[float], same_speed_rpm: float) -> tuple[tuple[int, ...], ...]:
    """The readings taken at one speed, for each speed.

    Parameters
    ----------
    rpm : sequence of float
        Engine speeds in any order. [rpm at the crank]
    same_speed_rpm : float
        A speed this close to the lowest of a group belongs to it. [rpm at the crank]

    Returns
    -------
    tuple of tuples
        Places in `rpm`, counted from 0, from the lowest speed to the highest.
    """
    groups: list[list[int]] = []
    for place in sorted(range(len(rpm)), key=lambda at: rpm[at]):
        if groups and not exceeds(rpm[place] - rpm[groups[-1][0]], same_speed_rpm):
            groups[-1].append(place)
        else:
            groups.append([place])
    return tuple(tuple(group) for group in groups)


def largest_disagreement(
    *, rpm: Sequence[float], residuals: Sequence[float], same_speed_rpm: float
) -> Disagreement | None:
    """The two readings at one speed that are furthest apart.

    Parameters
    ----------
    rpm : sequence of float
        Engine speeds in any order. [rpm at the crank]
    residuals : sequence of float
        How late each reading is. [degrees of crank]
    same_speed_rpm : float
        Speeds no further apart than this count as one. [rpm at the crank]

    Returns
    -------
    Disagreement or None
        None if no speed was read twice.
    """
    found = (
        Disagreement(abs(late - other_late), (speed + other_speed) / 2.0)
        for (speed, late), (other_speed, other_late) in combinations(zip(rpm, residuals, strict=True), 2)
        if not exceeds(abs(other_speed - speed), same_speed_rpm)
    )
    return max(found, default=None, key=lambda pair: pair.apart_deg)
