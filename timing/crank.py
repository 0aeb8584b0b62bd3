"""Crank, distributor and piston: angles into times, lengths and volumes, and where top dead centre is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import FloatArray, FloatOrArray, finite, number, same_shape_as_asked, within

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


def firing_interval(rpm: ArrayLike, cylinders: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Time from one spark of the engine to the next, whichever the cylinder, firing evenly. [s]

    Parameters
    ----------
    rpm : float or array
        Engine speed, above zero. [rpm at the crank]
    cylinders : int or array of int
        How many cylinders, 1 or more; broadcast against `rpm`.
    strokes : int
        4, or 2.

    Raises
    ------
    CrankError
        If `strokes` is neither, or cylinders are not whole.
    TimingError
        If a speed is not above zero (an engine that stands has no interval), or a figure is not finite.

    References
    ----------
    Derived: a cycle of 720 (four-stroke) or 360 degrees holds one spark a cylinder.
    """
    return degrees_to_seconds(firing_angle(cylinders, strokes), rpm)


def firing_angle(cylinders: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Crank angle from one spark of the engine to the next, firing evenly. [degrees of crank]

    Parameters and errors as for `firing_interval`.
    """
    count = within(cylinders, "the number of cylinders", low=1, high=_MOST_CYLINDERS)
    if (count != np.floor(count)).any():
        raise CrankError(f"cylinders are counted whole, not {count[count != np.floor(count)].flat[0]:g}")
    return same_shape_as_asked(np.asarray(_cycle(strokes) / count))


def uneven_intervals(rpm: float, angles_deg: ArrayLike, strokes: int = 4) -> FloatArray:
    """Times between the sparks of an engine that fires unevenly, in the order of `angles_deg`. [s]

    The shortest of them is what a dwell has to fit into.

    Parameters
    ----------
    rpm : float
        Engine speed, above zero. [rpm at the crank]
    angles_deg : sequence of float
        Crank angle from each spark to the next, round one whole cycle. [degrees of crank]
    strokes : int
        4, or 2.

    Raises
    ------
    CrankError
        If the angles do not add up to 720 degrees (360 for a two-stroke).
    TimingError
        If an angle or the speed is not above zero or not finite.
    """
    speed = number(rpm, "engine speed", above=0, unit="rpm")
    angles = within(angles_deg, "a firing interval", above=0, unit="degrees")
    cycle = _cycle(strokes)
    if angles.ndim != 1 or abs(angles.sum() - cycle) > 1e-6:
        raise CrankError(
            f"the firing intervals of one cycle add up to {cycle:g} degrees, and these to {angles.sum():g}"
        )
    return np.asarray(degrees_to_seconds(angles, speed))


def degrees_to_seconds(degrees: ArrayLike, rpm: ArrayLike) -> FloatOrArray:
    """How long the crank takes to turn through an angle. [s]

    Parameters
    ----------
    degrees : float or array
        The angle; negative gives a negative time. [degrees of crank]
    rpm : float or array
        Engine speed, above zero; broadcast against `degrees`. [rpm at the crank]

    Raises
    ------
    TimingError
        If a speed is not above zero, or a figure is not finite.
    """
    angle, speed = finite(degrees, "an angle"), within(rpm, "engine speed", above=0, unit="rpm")
    with np.errstate(over="ignore"):
        seconds = np.asarray(angle / (_DEGREES_PER_SECOND * speed))
    return same_shape_as_asked(_countable(seconds, "that time"))


def seconds_to_degrees(seconds: ArrayLike, rpm: ArrayLike) -> FloatOrArray:
    """How far the crank turns in a time. [degrees of crank]

    Parameters
    ----------
    seconds : float or array
        The time; negative gives a negative angle. [s]
    rpm : float or array
        Engine speed, zero or more; broadcast against `seconds`. [rpm at the crank]

    Raises
    ------
    TimingError
        If a speed is negative, or a figure is not finite.
    """
    time, speed = finite(seconds, "a time"), within(rpm, "engine speed", low=0, unit="rpm")
    with np.errstate(over="ignore"):
        angle = np.asarray(time * speed * _DEGREES_PER_SECOND)
    return same_shape_as_asked(_countable(angle, "that angle"))


def crank_from_distributor(degrees: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Crank degrees for distributor degrees; the same for speeds. [degrees of crank, or rpm at the crank]

    The distributor of a four-stroke turns once for two turns of the crank, that of a two-stroke with it.

    Parameters
    ----------
    degrees : float or array
        At the distributor. [degrees, or rpm]
    strokes : int
        4, or 2.

    Raises
    ------
    CrankError
        If `strokes` is neither.
    TimingError
        If a figure is not finite.
    """
    with np.errstate(over="ignore"):
        at_crank = np.asarray(finite(degrees, "an angle") * _turns_per_cycle(strokes))
    return same_shape_as_asked(_countable(at_crank, "that angle"))


def distributor_from_crank(degrees: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Distributor degrees for crank degrees; the same for speeds. The way back from `crank_from_distributor`."""
    return same_shape_as_asked(np.asarray(finite(degrees, "an angle") / _turns_per_cycle(strokes)))


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
        Thickness of the tape, whose printed face lies that much further out. [mm]

    Raises
    ------
    TimingError
        If the diameter is not above zero, the thickness negative, or a figure not finite.
    """
    diameter = within(diameter_mm, "the pulley's diameter", above=0, unit="mm")
    thickness = number(thickness_mm, "the thickness of the tape", low=0, unit="mm")
    with np.errstate(over="ignore"):
        length = np.asarray(np.pi * (diameter + 2 * thickness) * finite(degrees, "an angle") / 360.0)
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
    The circular mean of two angles; derived. A gudgeon pin off the cylinder axis moves it by less than 0.1 degrees:
    see `stop_error`.
    """
    first, second = finite(first_deg, "the first reading"), finite(second_deg, "the second reading")
    apart = np.mod(second - first + 180.0, 360.0) - 180.0
    _refuse_useless_stop(np.abs(apart), shallowest_deg, deepest_deg)
    middle = first + apart / 2
    return same_shape_as_asked(np.asarray(180.0 - np.mod(180.0 - middle, 360.0)))


def piston_drop(crank_deg: ArrayLike, stroke_mm: float, rod_mm: float, pin_offset_mm: float = 0.0) -> FloatOrArray:
    """How far the piston has come down from its highest place. [mm]

    Parameters
    ----------
    crank_deg : float or array
        Crank angle; at 0 the throw points along the cylinder axis, which is top dead centre only without an offset.
        Positive towards the side the pin is offset to. [degrees of crank]
    stroke_mm : float
        Twice the throw of the crank, above zero; with an offset the piston travels a little more. [mm]
    rod_mm : float
        Connecting rod between its centres, longer than throw and offset together. [mm]
    pin_offset_mm : float
        Gudgeon pin off the cylinder axis; negative to the other side. [mm]

    Returns
    -------
    float or array
        Zero at the true top dead centre, see `top_dead_centre`.

    Raises
    ------
    CrankError
        If the rod is too short for the crank to turn.
    TimingError
        If the stroke is not above zero, or a figure is not finite.

    References
    ----------
    Slider-crank; Heywood, Internal Combustion Engine Fundamentals, chapter 2, without the offset (from memory); with
    it derived. Written as a product of sines, so that it keeps its digits close to top dead centre.
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    angle = np.radians(finite(crank_deg, "the crank angle"))
    top = np.arcsin(offset / (rod + throw))
    half, middle = (angle - top) / 2, (angle + top) / 2
    aside, aside_at_top = throw * np.sin(angle) - offset, throw * np.sin(top) - offset
    below, below_at_top = np.sqrt(rod**2 - aside**2), np.sqrt(rod**2 - aside_at_top**2)
    lean = np.cos(middle) * (aside + aside_at_top) / (below + below_at_top)
    drop = 2 * throw * np.sin(half) * (np.sin(middle) + lean)
    return same_shape_as_asked(np.asarray(np.maximum(drop, 0.0)))


def crank_for_drop(drop_mm: ArrayLike, stroke_mm: float, rod_mm: float, pin_offset_mm: float = 0.0) -> FloatOrArray:
    """The crank angle at which the piston is `drop_mm` below its highest place. [degrees of crank]

    For timing given in millimetres before top dead centre. The way back from `piston_drop`, on the side of positive
    angles; the other side is minus the angle with the offset turned round.

    Parameters
    ----------
    drop_mm : float or array
        From zero to the piston's whole travel. [mm]
    stroke_mm, rod_mm, pin_offset_mm : float
        As for `piston_drop`.

    Raises
    ------
    CrankError
        If the rod is too short, or the piston does not travel as far.
    TimingError
        If a drop is negative, or a figure is not finite.

    References
    ----------
    Cosine rule on throw, rod and the line from crank to gudgeon pin; derived.
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    drop = within(drop_mm, "the piston's drop", low=0, unit="mm")
    travel = piston_travel(stroke_mm, rod_mm, pin_offset_mm)
    if (drop > travel * (1 + 1e-12)).any():
        raise CrankError(f"the piston travels {travel:.4g} mm, it cannot be {drop.max():.4g} mm down")
    highest = np.sqrt((rod + throw) ** 2 - offset**2)
    height = highest - drop
    reach = np.hypot(offset, height)
    short = drop * (highest + height) / (rod + throw + reach)  # rod + throw - reach, without losing digits
    share = short * (rod - throw + reach) / (4 * throw * reach)
    turned = 2 * np.arcsin(np.sqrt(np.clip(share, 0.0, 1.0)))
    return same_shape_as_asked(np.asarray(np.degrees(np.arctan2(offset, height) + turned)))


def top_dead_centre(stroke_mm: float, rod_mm: float, pin_offset_mm: float = 0.0) -> float:
    """The crank angle at which the piston is highest: 0 without an offset. [degrees of crank]

    Parameters and errors as for `piston_drop`.
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    return float(np.degrees(np.arcsin(offset / (rod + throw))))


def bottom_dead_centre(stroke_mm: float, rod_mm: float, pin_offset_mm: float = 0.0) -> float:
    """The crank angle at which the piston is lowest: 180 without an offset. [degrees of crank]

    Parameters and errors as for `piston_drop`.
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    return float(180.0 + np.degrees(np.arcsin(offset / (rod - throw))))


def piston_travel(stroke_mm: float, rod_mm: float, pin_offset_mm: float = 0.0) -> float:
    """How far the piston travels: the stroke, and a little more with an offset. [mm]

    Parameters and errors as for `piston_drop`.
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    # The difference of two roots, without losing digits.
    high, low = np.sqrt((rod + throw) ** 2 - offset**2), np.sqrt((rod - throw) ** 2 - offset**2)
    return float(4 * rod * throw / (high + low))


def stop_error(depth_mm: ArrayLike, stroke_mm: float, rod_mm: float, pin_offset_mm: float) -> FloatOrArray:
    """How far the middle of two piston-stop readings is from true top dead centre. [degrees of crank]

    Below 0.1 for ordinary offsets, which is why `dead_centre_from_stop` corrects nothing. Zero without an offset.

    Parameters
    ----------
    depth_mm : float or array
        How far below its highest place the stop holds the piston, above zero. [mm]
    stroke_mm, rod_mm, pin_offset_mm : float
        As for `piston_drop`.

    Raises
    ------
    CrankError, TimingError
        As for `crank_for_drop`.
    """
    depth = within(depth_mm, "the depth of the stop", above=0, unit="mm")
    after = np.asarray(crank_for_drop(depth, stroke_mm, rod_mm, pin_offset_mm))
    before = -np.asarray(crank_for_drop(depth, stroke_mm, rod_mm, -number(pin_offset_mm, "the offset of the pin")))
    top = top_dead_centre(stroke_mm, rod_mm, pin_offset_mm)
    return same_shape_as_asked(np.asarray((before + after) / 2 - top))


def swept_volume_cc(bore_mm: ArrayLike, stroke_mm: ArrayLike) -> FloatOrArray:
    """Swept volume of one cylinder. [cm³]

    Parameters
    ----------
    bore_mm, stroke_mm : float or array
        Bore and stroke, above zero. [mm]

    Raises
    ------
    TimingError
        If one is not above zero, or not finite.
    """
    bore = within(bore_mm, "the bore", above=0, unit="mm")
    stroke = within(stroke_mm, "the stroke", above=0, unit="mm")
    return same_shape_as_asked(_disc_cc(bore, stroke))


def clearance_volume_cc(
    chamber_cc: ArrayLike,
    gasket_bore_mm: ArrayLike,
    gasket_mm: ArrayLike,
    bore_mm: ArrayLike,
    deck_mm: ArrayLike = 0.0,
    dish_cc: ArrayLike = 0.0,
    dome_cc: ArrayLike = 0.0,
) -> FloatOrArray:
    """Volume left above the piston at top dead centre. [cm³]

    Parameters
    ----------
    chamber_cc : float or array
        Chamber in the head, zero or more. [cm³]
    gasket_bore_mm, gasket_mm : float or array
        Hole in the head gasket, and its thickness when clamped, zero or more. [mm]
    bore_mm : float or array
        Bore, above zero. [mm]
    deck_mm : float or array
        How far the piston's edge stands below the block's face; negative if it stands proud. [mm]
    dish_cc, dome_cc : float or array
        Hollow and crown of the piston, zero or more. [cm³]

    Raises
    ------
    CrankError
        If nothing is left.
    TimingError
        If a figure is below its limit or not finite.
    """
    gasket = _disc_cc(
        within(gasket_bore_mm, "the hole in the gasket", low=0, unit="mm"),
        within(gasket_mm, "the thickness of the gasket", low=0, unit="mm"),
    )
    deck = _disc_cc(
        within(bore_mm, "the bore", above=0, unit="mm"), finite(deck_mm, "the piston's height in the block")
    )
    volume = np.asarray(
        within(chamber_cc, "the chamber", low=0, unit="cm³")
        + gasket
        + deck
        + within(dish_cc, "the piston's hollow", low=0, unit="cm³")
        - within(dome_cc, "the piston's crown", low=0, unit="cm³")
    )
    if not (_countable(volume, "that volume") > 0).all():
        raise CrankError(f"no room is left above the piston: {volume.min():.4g} cm³")
    return same_shape_as_asked(volume)


def compression_ratio(swept_cc: ArrayLike, clearance_cc: ArrayLike) -> FloatOrArray:
    """Compression ratio of one cylinder: the whole volume over what is left at top dead centre.

    Parameters
    ----------
    swept_cc, clearance_cc : float or array
        Swept volume and clearance volume of one cylinder, above zero. [cm³]

    Raises
    ------
    TimingError
        If one is not above zero, or not finite.
    """
    swept = within(swept_cc, "the swept volume", above=0, unit="cm³")
    clearance = within(clearance_cc, "the clearance volume", above=0, unit="cm³")
    with np.errstate(over="ignore"):
        ratio = np.asarray(1.0 + swept / clearance)
    return same_shape_as_asked(_countable(ratio, "that ratio"))


def mean_piston_speed(stroke_mm: ArrayLike, rpm: ArrayLike) -> FloatOrArray:
    """Mean piston speed: two strokes a turn. [m/s]

    Parameters
    ----------
    stroke_mm : float or array
        Stroke, above zero. [mm]
    rpm : float or array
        Engine speed, zero or more; broadcast against `stroke_mm`. [rpm at the crank]

    Raises
    ------
    TimingError
        If a figure is below its limit or not finite.
    """
    stroke = within(stroke_mm, "the stroke", above=0, unit="mm")
    speed = within(rpm, "engine speed", low=0, unit="rpm")
    with np.errstate(over="ignore"):
        result = np.asarray(2 * (stroke / 1000.0) * speed / 60.0)
    return same_shape_as_asked(_countable(result, "that speed"))


def _cycle(strokes: int) -> float:
    return 360.0 * _turns_per_cycle(strokes)


def _turns_per_cycle(strokes: int) -> float:
    count = number(strokes, "the number of strokes")
    if count not in (2, 4):
        raise CrankError(f"an engine has two strokes or four, not {count:g}")
    return count / 2


def _linkage(stroke_mm: float, rod_mm: float, pin_offset_mm: float) -> tuple[float, float, float]:
    """Throw, rod and offset of a crank that can turn. [mm]"""
    throw = number(stroke_mm, "the stroke", above=0, unit="mm") / 2
    rod = number(rod_mm, "the connecting rod", above=0, unit="mm")
    offset = number(pin_offset_mm, "the offset of the pin")
    if rod <= throw + abs(offset):
        raise CrankError(
            f"a rod of {rod:g} mm is too short for a throw of {throw:g} mm and an offset of {abs(offset):g} mm"
        )
    return throw, rod, offset


def _refuse_useless_stop(apart: FloatArray, shallowest_deg: float, deepest_deg: float) -> None:
    least = number(shallowest_deg, "the least angle between two readings", low=0, unit="degrees")
    most = number(deepest_deg, "the most angle between two readings", high=180, unit="degrees")
    # An angle typed to a tenth can miss the limit by the noise of taking the turns out.
    if (apart < least - 1e-9).any() or not apart.all():
        raise CrankError(
            f"the readings are {apart.min():.3g} degrees apart, less than {least:g}: the stop is too shallow to tell"
            " top dead centre"
        )
    if (apart > most + 1e-9).any():
        raise CrankError(
            f"the readings are {apart.max():.4g} degrees apart, more than {most:g}: the stop is too deep, or one"
            " reading is wrong"
        )


def _disc_cc(diameter_mm: FloatArray, height_mm: FloatArray) -> FloatArray:
    with np.errstate(over="ignore"):
        volume = np.asarray(np.pi / 4 * diameter_mm**2 * height_mm / 1000.0)
    return _countable(volume, "that volume")


def _countable(result: FloatArray, what: str) -> FloatArray:
    if not np.isfinite(result).all():
        raise CrankError(f"{what} is too large to be a number")
    return result
