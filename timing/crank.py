"""Crank and distributor: angles into times and lengths, and where on the wheel top dead centre is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import FloatArray, FloatOrArray, finite, number, same_shape_as_asked, together, within
from timing.tolerance import exceeds, falls_short

# One turn a minute is 6 degrees a second.
_DEGREES_PER_SECOND = 6.0

# A piston stop that is touched closer to top dead centre than 5 degrees either side hardly tells where that is; one
# touched beyond 80 stands so deep that the rod is pushed sideways (common practice, no source). Both as the angle
# between the two readings. [degrees of crank]
SHALLOWEST_STOP_DEG = 10.0
DEEPEST_STOP_DEG = 160.0

# More cylinders than any engine with a distributor has; beyond it is a slipped digit.
_MOST_CYLINDERS = 24


class CrankError(TimingError):
    """A geometry no engine can have, or readings that do not tell what was asked."""


def firing_angle(cylinders: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Crank angle from one spark of the engine to the next, whichever the cylinder, firing evenly. [degrees of crank]

    Parameters
    ----------
    cylinders : int or array of int
        How many cylinders, 1 to 24.
    strokes : int
        4, or 2.

    Returns
    -------
    float or array
        Of the shape of `cylinders`. [degrees of crank]

    Raises
    ------
    CrankError
        If `strokes` is neither, or cylinders are not whole.
    TimingError
        If cylinders are out of their range, or not a number.

    References
    ----------
    Derived: a cycle of 720 (four-stroke) or 360 degrees holds one spark a cylinder.
    """
    count = within(cylinders, "the number of cylinders", low=1, high=_MOST_CYLINDERS)
    if (count != np.floor(count)).any():
        raise CrankError(f"cylinders are counted whole, not {count[count != np.floor(count)].flat[0]:g}")
    return same_shape_as_asked(np.asarray(_cycle(strokes) / count))


def degrees_to_seconds(degrees: ArrayLike, *, rpm: ArrayLike) -> FloatOrArray:
    """How long the crank takes to turn through an angle. [s]

    Parameters
    ----------
    degrees : float or array
        The angle; negative gives a negative time. [degrees of crank]
    rpm : float or array
        Engine speed, above zero; broadcast against `degrees`. [rpm at the crank]

    Returns
    -------
    float or array
        Of the shape of both together. [s]

    Raises
    ------
    TimingError
        If a speed is not above zero, or a figure is not finite.

    References
    ----------
    Derived: one turn a minute is 6 degrees a second.
    """
    angle, speed = together(
        finite(degrees, "an angle"), within(rpm, "engine speed", above=0, unit="rpm"), what="angles and speeds"
    )
    with np.errstate(over="ignore"):
        seconds = np.asarray(angle / (_DEGREES_PER_SECOND * speed))
    return same_shape_as_asked(_countable(seconds, "that time"))


def crank_from_distributor(dist_deg: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Crank degrees for distributor degrees; the same for speeds. [degrees of crank, or rpm at the crank]

    The distributor of a four-stroke turns once for two turns of the crank, that of a two-stroke with it.

    Parameters
    ----------
    dist_deg : float or array
        At the distributor. [degrees, or rpm]
    strokes : int
        4, or 2.

    Returns
    -------
    float or array
        Of the shape of `dist_deg`. [degrees, or rpm]

    Raises
    ------
    CrankError
        If `strokes` is neither.
    TimingError
        If a figure is not finite.

    References
    ----------
    Derived: a distributor fires every cylinder once a turn, a four-stroke once in two turns of the crank.
    """
    with np.errstate(over="ignore"):
        at_crank = np.asarray(finite(dist_deg, "an angle") * _turns_per_cycle(strokes))
    return same_shape_as_asked(_countable(at_crank, "that angle"))


def tape_length(diameter_mm: ArrayLike, degrees: ArrayLike, thickness_mm: float = 0.0) -> FloatOrArray:
    """Length along a degree tape, from top dead centre to a mark. [mm]

    The arc, not the chord: at 150 mm, 10 degrees are 13.090 mm of arc and 13.073 of chord.

    Parameters
    ----------
    diameter_mm : float or array
        Diameter the tape is laid on, above zero. [mm]
    degrees : float or array
        The mark; negative lies on the other side. [degrees of crank]
    thickness_mm : float
        Thickness of the tape. Bent, its outside is stretched and its inside pressed together; its middle, half a
        thickness out from the wheel, keeps the length at which it was printed. [mm]

    Returns
    -------
    float or array
        Of the shape of both together. [mm]

    Raises
    ------
    TimingError
        If the diameter is not above zero, the thickness negative, or a figure not finite.

    References
    ----------
    Derived: arc = π (D + thickness) a / 360 (handbook, section 2).
    """
    diameter, angle = together(
        within(diameter_mm, "the pulley's diameter", above=0, unit="mm"),
        finite(degrees, "an angle"),
        what="diameters and angles",
    )
    thickness = number(thickness_mm, "the thickness of the tape", low=0, unit="mm")
    with np.errstate(over="ignore"):
        length = np.asarray(np.pi * (diameter + thickness) * angle / 360.0)
    return same_shape_as_asked(_countable(length, "that length"))


def dead_centre_from_stop(
    first_deg: ArrayLike,
    second_deg: ArrayLike,
    *,
    shallowest_deg: float = SHALLOWEST_STOP_DEG,
    deepest_deg: float = DEEPEST_STOP_DEG,
) -> FloatOrArray:
    """Where on the degree wheel top dead centre is, from touching a piston stop turning one way and the other.

    The middle of the two readings on the short arc between them, whichever comes first and however the wheel is
    counted: 350 and 14 give 2. An error in either reading is divided by the square root of two.

    Parameters
    ----------
    first_deg, second_deg : float or array
        Wheel readings at contact, from the same zero; signed or 0 to 360. [degrees of crank]
    shallowest_deg, deepest_deg : float
        Least and most angle between the readings that is accepted. [degrees of crank]

    Returns
    -------
    float or array
        Wheel reading at top dead centre, above -180 and up to 180. [degrees of crank]

    Raises
    ------
    CrankError
        If the readings are too close together (the stop is too shallow: the result would be a guess) or too far
        apart (too deep: it would be risky, and the short arc may be the wrong one).
    TimingError
        If a reading is not finite.

    References
    ----------
    The circular mean of two angles; derived. A gudgeon pin off the cylinder axis moves it by less than 0.1 degrees
    in ordinary engines with the stop no deeper than a quarter of the stroke: see `stop_error`.
    """
    first, second = together(
        finite(first_deg, "the first reading"), finite(second_deg, "the second reading"), what="the readings"
    )
    apart = np.mod(second - first + 180.0, 360.0) - 180.0
    _refuse_useless_stop(np.abs(apart), shallowest_deg, deepest_deg)
    middle = first + apart / 2
    centre = 180.0 - np.mod(180.0 - middle, 360.0)
    # A hair's breadth below -180 the remainder rounds to the whole turn.
    return same_shape_as_asked(np.where(centre <= -180.0, 180.0, centre))


def _cycle(strokes: int) -> float:
    return 360.0 * _turns_per_cycle(strokes)


def _turns_per_cycle(strokes: int) -> float:
    count = number(strokes, "the number of strokes")
    if count not in (2, 4):
        raise CrankError(f"an engine has two strokes or four, not {count:g}")
    return count / 2


def _refuse_useless_stop(apart: FloatArray, shallowest_deg: float, deepest_deg: float) -> None:
    least = number(shallowest_deg, "the least angle between two readings", low=0, unit="degrees")
    most = number(deepest_deg, "the most angle between two readings", high=180, unit="degrees")
    # An angle typed to a tenth can miss the limit by the noise of taking the turns out.
    if falls_short(float(apart.min()), least) or not apart.all():
        raise CrankError(
            f"the readings are {apart.min():.3g} degrees apart, less than {least:g}: the stop is too shallow to tell"
            " top dead centre"
        )
    if exceeds(float(apart.max()), most):
        raise CrankError(
            f"the readings are {apart.max():.4g} degrees apart, more than {most:g}: the stop is too deep, or one"
            " reading is wrong"
        )


def _countable(result: FloatArray, what: str) -> FloatArray:
    if not np.isfinite(result).all():
        raise CrankError(f"{what} is too large to be a number")
    return result
