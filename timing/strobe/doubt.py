"""Whether readings just typed look like a known slip: something to ask about before they are saved."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from timing.inputs import FloatArray, number
from timing.strobe.readings import LampKind, StrobeError, checked_advance
from timing.tolerance import exceeds


class SlipKind(StrEnum):
    """What may have gone wrong between the scale and the keyboard."""

    HALF = "half"
    SIGN_TURNED = "sign_turned"
    TWICE = "twice"


@dataclass(frozen=True, slots=True)
class DoubtfulReadings:
    """Readings that look like a slip, made by `doubtful_readings`.

    Attributes
    ----------
    kind : SlipKind
        What they look like.
    places : tuple of int
        Which readings, counted from 0.
    question : str
        What to ask whoever typed them.
    """

    kind: SlipKind
    places: tuple[int, ...]
    question: str


# What each slip makes of the advance that is expected.
_FACTOR = {SlipKind.HALF: 0.5, SlipKind.SIGN_TURNED: -1.0, SlipKind.TWICE: 2.0}


def doubtful_readings(
    measured: ArrayLike,
    expected: ArrayLike,
    *,
    near_deg: float = 2.0,
    lamp: LampKind | None = None,
    wasted_spark: bool = False,
) -> DoubtfulReadings | None:
    """Whether readings are half of what is expected, twice it, or have the sign turned.

    Parameters
    ----------
    measured : float or array of shape (n,)
        Advance as typed. [degrees of crank before top dead centre]
    expected : float or array of shape (n,)
        Advance that the unit should give there. [degrees of crank before top dead centre]
    near_deg : float
        A reading this near to half of what is expected may be that, if it is more than twice as far from what is
        expected itself; above 0. Within a quarter of it a small advance is half too, such as a base timing of 8
        degrees. 2 degrees: common practice, no source. [degrees of crank]
    lamp : LampKind, optional
        The lamp it was read with, if that is known.
    wasted_spark : bool
        Whether each cylinder sparks on every turn: a dial-back lamp then shows twice the advance.

    Returns
    -------
    DoubtfulReadings or None
        None unless every reading that can tell looks like the same slip. An advance of 5 degrees or less cannot: half
        of it is within the error of an engine that is yet to be set.

    Raises
    ------
    StrobeError
        If there is not one expected advance for each reading, nor one for all, or there is no reading.
    TimingError
        If a figure is not finite or out of its range.

    References
    ----------
    Two turns of the crank for one of a four-stroke's distributor: derived.
    """
    seen = np.atleast_1d(checked_advance(measured, "a measured advance"))
    target = checked_advance(expected, "an expected advance")
    near = number(near_deg, "how near a reading must be", above=0.0, unit="degrees")
    if seen.ndim != 1 or not seen.size:
        raise StrobeError("readings must be a list of measured advances, at least one")
    if target.ndim and target.shape != seen.shape:
        raise StrobeError(f"{seen.size} measured advances but {target.size} expected: each reading needs one of each")
    due = np.broadcast_to(target, seen.shape)
    for kind, factor in _FACTOR.items():
        # Who turns a distributor until half of a small base timing fits has set twice of it: that is asked about too.
        close = near / 4.0 if kind is SlipKind.HALF else 0.0
        least = near + close if close else 2.0 * near
        telling = [at for at in range(seen.size) if exceeds(abs((1.0 - factor) * float(due[at])), least)]
        if telling and all(_looks_like(float(seen[at]), float(due[at]), factor, near, close) for at in telling):
            return DoubtfulReadings(kind, tuple(telling), _question(kind, seen, due, telling, lamp, wasted_spark))
    return None


def _looks_like(seen: float, due: float, factor: float, near: float, close: float) -> bool:
    off = abs(seen - factor * due)
    return (not exceeds(off, near) and exceeds(abs(seen - due), 2.0 * near)) or (
        close > 0.0 and not exceeds(off, close)
    )


def _question(
    kind: SlipKind,
    seen: FloatArray,
    due: FloatArray,
    telling: list[int],
    lamp: LampKind | None,
    wasted_spark: bool,
) -> str:
    if len(telling) == 1:
        at = telling[0]
        who, verb = f"The reading, {seen[at]:g}°,", "is"
        of_what = f"the {due[at]:.1f}° expected"
    else:
        who, verb, of_what = f"{len(telling)} readings", "are", "what is expected"
    if kind is SlipKind.HALF:
        return f"{who} {verb} about half of {of_what}. Are these distributor degrees? Enter crank degrees."
    if kind is SlipKind.SIGN_TURNED:
        return f"{who} {verb} about minus {of_what}. Is the sign turned? Before top dead centre is plus."
    if wasted_spark and lamp is not LampKind.PLAIN:
        return f"{who} {verb} about twice {of_what}. A dial-back lamp shows that on a wasted spark: enter half."
    return f"{who} {verb} about twice {of_what}. Was the figure doubled? Enter what the scale shows."
