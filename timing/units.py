"""The units a workshop reads in, and what altitude does to pressure: the only place with such factors."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import FloatOrArray, finite, number, same_shape_as_asked, together, within

# ---- Exact by definition: NIST SP 811 (2008), section 4 and appendix B.8 -------------------------------------------
STANDARD_GRAVITY = 9.80665  # [m/s²]
_POUND_KG = 0.453_592_37
_INCH_M = 0.0254
# The conventional density of mercury that both the inch and the millimetre of mercury are made with. Columns at
# 32 °F and 60 °F are other units, up to 0.3 % smaller, and are not used anywhere. [kg/m³]
_MERCURY = 13_595.1

PASCALS = MappingProxyType(
    {
        "Pa": 1.0,
        "mbar": 100.0,
        "kPa": 1000.0,
        "bar": 100_000.0,
        "mmHg": 0.001 * _MERCURY * STANDARD_GRAVITY,
        "inHg": _INCH_M * _MERCURY * STANDARD_GRAVITY,
        "psi": _POUND_KG * STANDARD_GRAVITY / _INCH_M**2,
    }
)
"""What one of each unit is. [Pa]"""

KM_PER_MILE = 1.609_344  # the international mile

# ---- US Standard Atmosphere 1976, section 1.2; below 11 km the same as ISO 2533 ------------------------------------
STANDARD_PRESSURE_KPA = 101.325
STANDARD_TEMPERATURE_K = 288.15
_LAPSE = 0.0065  # [K/m of geopotential altitude]
_MOLAR_MASS = 28.9644  # [kg/kmol]
_GAS_CONSTANT = 8314.32  # the 1976 value, a little below today's [J/(kmol K)]
_EARTH_RADIUS_M = 6_356_766.0
_EXPONENT = STANDARD_GRAVITY * _MOLAR_MASS / (_GAS_CONSTANT * _LAPSE)

# The lowest layer of the standard begins 5 km below the sea and ends at 11 km, where the lapse ends.
LOWEST_ALTITUDE_M = -5000.0
HIGHEST_ALTITUDE_M = 11_000.0

# Above every barometer reading on land, and far below 760 mmHg or 1013 mbar entered as kPa (from memory: the highest
# readings at sea level are near 108.5 kPa).
HIGHEST_BAROMETER_KPA = 110.0

# Far above any spark-ignition engine, and below a reading in Pa or a slipped digit (from memory: about 1500).
MOST_COMPRESSION_KPA = 10_000.0


class UnitsError(TimingError):
    """A pressure that cannot be converted, or that cannot be."""


def convert(value: ArrayLike, from_unit: str, to_unit: str) -> FloatOrArray:
    """A pressure, or a difference of two, in another unit.

    Parameters
    ----------
    value : float or array
        The figure as it was read; may be negative. [from_unit]
    from_unit, to_unit : str
        Pa, kPa, mbar, bar, inHg, mmHg or psi, spelt so. The columns of mercury are the conventional ones.

    Returns
    -------
    float or array
        Of the shape of `value`. [to_unit]

    Raises
    ------
    UnitsError
        If a unit is not one of those, or the result is too large for a number.
    TimingError
        If `value` is not a finite number.

    References
    ----------
    NIST SP 811 (2008), appendix B.8; the factors are its exact definitions and not its seven printed digits.
    """
    figures = finite(value, "the pressure")
    pascals, others = _pascals(from_unit), _pascals(to_unit)
    if pascals == others:
        return same_shape_as_asked(figures)
    with np.errstate(over="ignore"):
        # Multiplying first keeps whole factors exact: 1 mbar is 0.1 kPa to the last digit.
        result = np.asarray(figures * pascals / others)
    if not np.isfinite(result).all():
        raise UnitsError(f"the pressure is too large to be converted from {from_unit} to {to_unit}")
    return same_shape_as_asked(result)


def standard_pressure(altitude_m: ArrayLike) -> FloatOrArray:
    """Air pressure at a height on a standard day. [kPa]

    Parameters
    ----------
    altitude_m : float or array
        Geometric height above sea level, as a map gives it, -5000 to 11 000. [m]

    Returns
    -------
    float or array
        Of the shape of `altitude_m`. [kPa]

    Raises
    ------
    TimingError
        If a height is outside that range or not finite.

    Notes
    -----
    Real weather moves it by about 3 kPa either way (from memory).

    References
    ----------
    US Standard Atmosphere 1976, equations 18 and 33a; ISO 2533 has the same figures up to 50 km.
    """
    height = within(altitude_m, "altitude", low=LOWEST_ALTITUDE_M, high=HIGHEST_ALTITUDE_M, unit="m")
    geopotential = _EARTH_RADIUS_M * height / (_EARTH_RADIUS_M + height)
    ratio = (STANDARD_TEMPERATURE_K - _LAPSE * geopotential) / STANDARD_TEMPERATURE_K
    return same_shape_as_asked(np.asarray(STANDARD_PRESSURE_KPA * ratio**_EXPONENT))


def vacuum_lost(altitude_m: ArrayLike) -> FloatOrArray:
    """How much lower a vacuum gauge reads at a height than at sea level, same engine and throttle. [kPa]

    The absolute manifold pressure stays about the same, so that the gauge loses what the air has lost: derived, an
    approximation.

    Parameters
    ----------
    altitude_m : float or array
        Height above sea level, -5000 to 11 000. [m]

    Returns
    -------
    float or array
        Of the shape of `altitude_m`, negative below sea level. [kPa]

    Raises
    ------
    TimingError
        If a height is outside that range or not finite.

    References
    ----------
    As `standard_pressure`.
    """
    return same_shape_as_asked(np.asarray(STANDARD_PRESSURE_KPA - np.asarray(standard_pressure(altitude_m))))


def highest_vacuum(altitude_m: ArrayLike, lowest_manifold_kpa: float = 30.0) -> FloatOrArray:
    """The most vacuum an engine can make at a height on a standard day. [kPa below atmosphere]

    Parameters
    ----------
    altitude_m : float or array
        Height above sea level, -5000 to 11 000. [m]
    lowest_manifold_kpa : float
        Absolute manifold pressure that the engine never goes below (30: common practice, no source). [kPa]

    Returns
    -------
    float or array
        Of the shape of `altitude_m`, zero or more. [kPa below atmosphere]

    Raises
    ------
    UnitsError
        If the air at that height is thinner than the lowest manifold pressure.
    TimingError
        If a height is out of range, or a figure is not finite.
    """
    lowest = number(lowest_manifold_kpa, "the lowest manifold pressure", low=0, unit="kPa")
    air = np.asarray(standard_pressure(altitude_m))
    if (air < lowest).any():
        thinnest = float(air.min())
        raise UnitsError(f"the air is at {thinnest:.4g} kPa, below the lowest manifold pressure of {lowest:g} kPa")
    return same_shape_as_asked(np.asarray(air - lowest))


def compression_at_sea_level(gauge_kpa: ArrayLike, altitude_m: ArrayLike) -> FloatOrArray:
    """What a compression gauge would have read at sea level. [kPa]

    Air trapped at ambient pressure and squeezed by the same ratio ends at an absolute pressure in proportion to
    the ambient one, and so does the gauge. The spread between cylinders needs no correction: judge it first.

    Parameters
    ----------
    gauge_kpa : float or array
        Reading of the gauge, zero or more. [kPa above atmosphere]
    altitude_m : float or array
        Height of the workshop, -5000 to 11 000. [m]

    Returns
    -------
    float or array
        Of the broadcast shape. [kPa above atmosphere]

    Raises
    ------
    TimingError
        If a reading is negative, a height out of range, or a figure not finite.

    References
    ----------
    Derived from the ideal gas (handbook, section 3); the atmosphere as `standard_pressure`.
    """
    readings, ratio = together(
        within(gauge_kpa, "a compression reading", low=0, high=MOST_COMPRESSION_KPA, unit="kPa"),
        np.asarray(standard_pressure(altitude_m)) / STANDARD_PRESSURE_KPA,
        what="compression readings and heights",
    )
    return same_shape_as_asked(np.asarray(readings / ratio))


def _pascals(unit: str) -> float:
    if not isinstance(unit, str) or unit not in PASCALS:
        raise UnitsError(f"{unit!r} is no unit of pressure known here: {', '.join(PASCALS)}")
    return PASCALS[unit]
