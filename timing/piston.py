"""Where the piston is, and the volume above it: slider-crank and compression."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import FloatArray, FloatOrArray, finite, number, same_shape_as_asked, together, within


class PistonError(TimingError):
    """A geometry no engine can have."""


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
        Of the shape of `crank_deg`. Zero at the true top dead centre, see `top_dead_centre`.

    Raises
    ------
    PistonError
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
        As for `piston_drop`. [mm]

    Returns
    -------
    float or array
        Of the shape of `drop_mm`. [degrees of crank]

    Raises
    ------
    PistonError
        If the rod is too short, or the piston does not travel as far.
    TimingError
        If a drop is negative, or a figure is not finite.

    References
    ----------
    Cosine rule on throw, rod and the line from crank to gudgeon pin; derived.
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    drop = _within_travel(within(drop_mm, "the piston's drop", low=0, unit="mm"), throw, rod, offset)
    highest = np.sqrt((rod + throw) ** 2 - offset**2)
    height = highest - drop
    reach = np.hypot(offset, height)
    short = drop * (highest + height) / (rod + throw + reach)  # rod + throw - reach, without losing digits
    share = short * (rod - throw + reach) / (4 * throw * reach)
    turned = 2 * np.arcsin(np.sqrt(np.clip(share, 0.0, 1.0)))
    return same_shape_as_asked(np.asarray(np.degrees(np.arctan2(offset, height) + turned)))


def top_dead_centre(stroke_mm: float, rod_mm: float, pin_offset_mm: float = 0.0) -> float:
    """The crank angle at which the piston is highest: 0 without an offset. [degrees of crank]

    Parameters
    ----------
    stroke_mm, rod_mm, pin_offset_mm : float
        As for `piston_drop`. [mm]

    Returns
    -------
    float
        Positive towards the side the pin is offset to. [degrees of crank]

    Raises
    ------
    PistonError, TimingError
        As for `piston_drop`.

    References
    ----------
    Derived: throw and rod in one line, at asin(offset / (rod + throw)).
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    return float(np.degrees(np.arcsin(offset / (rod + throw))))


def piston_travel(stroke_mm: float, rod_mm: float, pin_offset_mm: float = 0.0) -> float:
    """How far the piston travels: the stroke, and a little more with an offset. [mm]

    Parameters
    ----------
    stroke_mm, rod_mm, pin_offset_mm : float
        As for `piston_drop`. [mm]

    Returns
    -------
    float
        From its highest to its lowest place. [mm]

    Raises
    ------
    PistonError, TimingError
        As for `piston_drop`.

    References
    ----------
    Derived: the difference of sqrt((rod ± throw)² - offset²).
    """
    return _travel(*_linkage(stroke_mm, rod_mm, pin_offset_mm))


def stop_error(depth_mm: ArrayLike, stroke_mm: float, rod_mm: float, pin_offset_mm: float) -> FloatOrArray:
    """How far the middle of two piston-stop readings is from true top dead centre. [degrees of crank]

    Zero without an offset, and larger the deeper the stop. Below 0.1 where the offset is a fortieth of the stroke or
    less, the rod 1.6 strokes or longer, and the stop no deeper than a quarter of the stroke; in such an engine it
    stays below 0.21 at the deepest stop that `dead_centre_from_stop` accepts, which corrects nothing.

    Parameters
    ----------
    depth_mm : float or array
        How far below its highest place the stop holds the piston, above zero. [mm]
    stroke_mm, rod_mm, pin_offset_mm : float
        As for `piston_drop`. [mm]

    Returns
    -------
    float or array
        Of the shape of `depth_mm`, positive where the middle lies after top dead centre. [degrees of crank]

    Raises
    ------
    PistonError, TimingError
        As for `crank_for_drop`.

    References
    ----------
    Derived: at equal heights the throw stands evenly to both sides of the line from crank to gudgeon pin, so the
    middle is the slope of that line at the stop, and top dead centre its slope with the piston highest.
    """
    throw, rod, offset = _linkage(stroke_mm, rod_mm, pin_offset_mm)
    depth = within(depth_mm, "the depth of the stop", above=0, unit="mm")
    highest = np.sqrt((rod + throw) ** 2 - offset**2)
    height = highest - _within_travel(depth, throw, rod, offset)
    # atan(offset / height) - atan(offset / highest) as one angle, without losing digits.
    return same_shape_as_asked(np.degrees(np.arctan2(offset * depth, highest * height + offset**2)))


def swept_volume_cc(bore_mm: ArrayLike, stroke_mm: ArrayLike) -> FloatOrArray:
    """Swept volume of one cylinder. [cm³]

    Parameters
    ----------
    bore_mm, stroke_mm : float or array
        Bore and stroke, above zero. [mm]

    Returns
    -------
    float or array
        Of the shape of both together. [cm³]

    Raises
    ------
    TimingError
        If one is not above zero, or not finite.

    References
    ----------
    Derived: a cylinder, π/4 bore² stroke.
    """
    bore, stroke = together(
        within(bore_mm, "the bore", above=0, unit="mm"),
        within(stroke_mm, "the stroke", above=0, unit="mm"),
        what="bores and strokes",
    )
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

    Returns
    -------
    float or array
        Of the shape of all together. [cm³]

    Raises
    ------
    PistonError
        If nothing is left.
    TimingError
        If a figure is below its limit or not finite.

    References
    ----------
    Derived: chamber, gasket and deck as discs, and hollow, less the crown.
    """
    chamber, gasket_bore, gasket, bore, deck, dish, dome = together(
        within(chamber_cc, "the chamber", low=0, unit="cm³"),
        within(gasket_bore_mm, "the hole in the gasket", low=0, unit="mm"),
        within(gasket_mm, "the thickness of the gasket", low=0, unit="mm"),
        within(bore_mm, "the bore", above=0, unit="mm"),
        finite(deck_mm, "the piston's height in the block"),
        within(dish_cc, "the piston's hollow", low=0, unit="cm³"),
        within(dome_cc, "the piston's crown", low=0, unit="cm³"),
        what="the figures of several cylinders",
    )
    volume = np.asarray(chamber + _disc_cc(gasket_bore, gasket) + _disc_cc(bore, deck) + dish - dome)
    if not (_countable(volume, "that volume") > 0).all():
        raise PistonError(f"no room is left above the piston: {volume.min():.4g} cm³")
    return same_shape_as_asked(volume)


def compression_ratio(swept_cc: ArrayLike, clearance_cc: ArrayLike) -> FloatOrArray:
    """Compression ratio of one cylinder: the whole volume over what is left at top dead centre.

    Parameters
    ----------
    swept_cc, clearance_cc : float or array
        Swept volume and clearance volume of one cylinder, above zero. [cm³]

    Returns
    -------
    float or array
        Of the shape of both together, above 1.

    Raises
    ------
    TimingError
        If one is not above zero, or not finite.

    References
    ----------
    By definition: (swept + clearance) / clearance.
    """
    swept, clearance = together(
        within(swept_cc, "the swept volume", above=0, unit="cm³"),
        within(clearance_cc, "the clearance volume", above=0, unit="cm³"),
        what="swept and clearance volumes",
    )
    with np.errstate(over="ignore"):
        ratio = np.asarray(1.0 + swept / clearance)
    return same_shape_as_asked(_countable(ratio, "that ratio"))


def _linkage(stroke_mm: float, rod_mm: float, pin_offset_mm: float) -> tuple[float, float, float]:
    """Throw, rod and offset of a crank that can turn. [mm]"""
    throw = number(stroke_mm, "the stroke", above=0, unit="mm") / 2
    rod = number(rod_mm, "the connecting rod", above=0, unit="mm")
    offset = number(pin_offset_mm, "the offset of the pin")
    if rod <= throw + abs(offset):
        raise PistonError(
            f"a rod of {rod:g} mm is too short for a throw of {throw:g} mm and an offset of {abs(offset):g} mm"
        )
    return throw, rod, offset


def _travel(throw: float, rod: float, offset: float) -> float:
    # The difference of two roots, without losing digits.
    high, low = np.sqrt((rod + throw) ** 2 - offset**2), np.sqrt((rod - throw) ** 2 - offset**2)
    return float(4 * rod * throw / (high + low))


def _within_travel(drop: FloatArray, throw: float, rod: float, offset: float) -> FloatArray:
    travel = _travel(throw, rod, offset)
    if (drop > travel * (1 + 1e-12)).any():
        raise PistonError(f"the piston travels {travel:.4g} mm, it cannot be {drop.max():.4g} mm down")
    return drop


def _disc_cc(diameter_mm: FloatArray, height_mm: FloatArray) -> FloatArray:
    with np.errstate(over="ignore"):
        volume = np.asarray(np.pi / 4 * diameter_mm**2 * height_mm / 1000.0)
    return _countable(volume, "that volume")


def _countable(result: FloatArray, what: str) -> FloatArray:
    if not np.isfinite(result).all():
        raise PistonError(f"{what} is too large to be a number")
    return result
