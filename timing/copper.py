"""Copper: what a winding's resistance is at another temperature."""

from __future__ import annotations

from numpy.typing import ArrayLike

from timing.inputs import FloatArray, FloatOrArray, same_shape_as_asked, within

# Annealed copper of the international standard, at 20 °C (IEC 60028, read in secondary sources).
COPPER_PER_DEGREE = 0.00393  # [1 per °C]

# The straight line is a fit around room temperature; no coil in a car is outside this.
COLDEST_C = -60.0
HOTTEST_C = 250.0


def _ratio(temperature_c: ArrayLike) -> FloatArray:
    temperature = within(temperature_c, "the winding's temperature", low=COLDEST_C, high=HOTTEST_C, unit="°C")
    return 1.0 + COPPER_PER_DEGREE * (temperature - 20.0)


def resistance_at(resistance_20_ohm: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """Resistance at `temperature_c` of a copper winding known at 20 °C. [ohm]

    Ballast wire is not copper: its resistance hardly moves and is never corrected.

    Parameters
    ----------
    resistance_20_ohm : float or array
        Resistance at 20 °C, above zero. [ohm]
    temperature_c : float or array
        Temperature of the winding, -60 to 250. [°C]

    Returns
    -------
    float or array
        Of the shape of both together. [ohm]

    Raises
    ------
    TimingError
        If the resistance is not above zero, or the temperature is outside the range of the straight line.

    References
    ----------
    R = R20 (1 + 0.00393 (T - 20)), IEC 60028 for annealed copper.
    """
    cold = within(resistance_20_ohm, "the winding's resistance", above=0.0, unit="ohm")
    return same_shape_as_asked(cold * _ratio(temperature_c))


def resistance_at_20(reading_ohm: ArrayLike, temperature_c: ArrayLike) -> FloatOrArray:
    """What a reading taken at `temperature_c` would be at 20 °C: the inverse of `resistance_at`. [ohm]

    Parameters
    ----------
    reading_ohm : float or array
        Resistance as read, meter leads already subtracted, above zero. [ohm]
    temperature_c : float or array
        Temperature of the winding when it was read, -60 to 250. [°C]

    Returns
    -------
    float or array
        Of the shape of both together. [ohm]

    Raises
    ------
    TimingError
        As `resistance_at`.

    References
    ----------
    As `resistance_at`.
    """
    reading = within(reading_ohm, "the reading", above=0.0, unit="ohm")
    return same_shape_as_asked(reading / _ratio(temperature_c))
