"""Dwell over the speed range: when the asked-for time no longer fits, and what the spark is left with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing.coil.circuit import CoilError, Primary, Steady
from timing.crank import (
    crank_from_distributor,
    degrees_to_seconds,
    distributor_from_crank,
    firing_angle,
    seconds_to_degrees,
)
from timing.figures import Figures
from timing.inputs import FloatArray, FloatOrArray, number, same_shape_as_asked, within

# A dwell that misses by no more than this still fits: at the limit speed itself only rounding decides.
_ROUNDING = 1e-12


def _degrees_to_ms(degrees: ArrayLike, rpm: ArrayLike) -> FloatArray:
    return np.asarray(1000.0 * np.asarray(degrees_to_seconds(degrees, rpm=rpm)))


@dataclass(frozen=True, slots=True, eq=False)
class DwellBudget(Figures):
    """What a requested dwell becomes over the speed range, the spark always keeping its time.

    Every field but `limit_rpm` has the shape of `rpm`; with a list of supplies, one row for each of them.

    Attributes
    ----------
    limit_rpm : float or array
        Highest speed at which the whole dwell fits beside the spark; one figure for each dwell. [rpm]
    fits : bool or array of bool
        Whether the whole dwell fits.
    interval_ms : float or array
        Shortest time from one spark to the next. [ms]
    on_ms : float or array
        Time the coil is on: the dwell asked for, or what the spark leaves of the interval. [ms]
    current_a : float or array
        Current reached when the spark begins. [A]
    energy_mj : float or array
        Energy in the coil when the spark begins. [mJ]
    rms_a, mean_a : float or array
        Of the primary current over time. [A]
    heat_w : float or array
        Heat in the coil's own primary winding. [W]
    duty : float or array
        Share of the time the coil is on. [0 to 1]
    """

    limit_rpm: FloatOrArray
    fits: bool | np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
    interval_ms: FloatOrArray
    on_ms: FloatOrArray
    current_a: FloatOrArray
    energy_mj: FloatOrArray
    rms_a: FloatOrArray
    mean_a: FloatOrArray
    heat_w: FloatOrArray
    duty: FloatOrArray


def dwell_budget(
    primary: Primary,
    cylinders: int,
    dwell_ms: ArrayLike,
    spark_ms: float,
    rpm: ArrayLike,
    *,
    supply_v: ArrayLike | None = None,
    strokes: int = 4,
    shortest_interval_deg: float | None = None,
) -> DwellBudget:
    """How much of a requested dwell fits between sparks at each speed, and what is left for the spark.

    The spark keeps its time; what it leaves of the interval is the coil's, at most `dwell_ms`. Above
    `limit_rpm` the current falls. For the other choice, dwell kept and spark cut, see `steady_over_speed`.

    Parameters
    ----------
    primary : Primary
        The coil's circuit.
    cylinders : int
        Sparks the coil gives in one working cycle: the number of cylinders for one coil and a distributor.
    dwell_ms : float or array
        Requested dwell, above zero: one figure, or one for each of `supply_v`. [ms]
    spark_ms : float
        Time kept for the spark, zero or more. [ms]
    rpm : float or array
        Speeds, above zero. [rpm at the crank]
    supply_v : float or sequence of float, optional
        Supplies instead of the circuit's own, say from cranking to charging voltage. [V] A sequence adds a
        first axis to every result but `limit_rpm`.
    strokes : int
        4 or 2.
    shortest_interval_deg : float, optional
        Shortest crank angle between two sparks of an engine that fires unevenly. [degrees of crank] It bounds
        the on-time; currents over time and heat are those of the mean interval.

    Raises
    ------
    CoilError
        If the shortest interval is longer than the mean one, `dwell_ms` is a list of another length than
        `supply_v`, or a supply does not exceed the switch's drop.
    TimingError
        If a figure is out of its range or not finite.

    Notes
    -----
    t_on = min(t_request, interval - t_spark). With the times in seconds the whole fits up to
    n = interval_deg / (6 (t_d + t_spark)), for an even four-stroke 120 / (N (t_d + t_spark)). Derived.
    """
    speeds = within(rpm, "engine speed", above=0.0, unit="rpm")
    dwell = within(dwell_ms, "the requested dwell", above=0.0, unit="ms")
    spark = number(spark_ms, "the time kept for the spark", low=0.0, unit="ms")
    mean_deg = float(firing_angle(cylinders, strokes))
    shortest_deg = mean_deg
    if shortest_interval_deg is not None:
        shortest_deg = number(shortest_interval_deg, "the shortest interval", above=0.0, unit="°")
        if shortest_deg > mean_deg:
            raise CoilError(f"the shortest interval cannot be {shortest_deg:g}°: the mean one is only {mean_deg:g}°")
    asked_v = primary.supply_v if supply_v is None else supply_v
    supplies = within(asked_v, "the supply voltage", above=0.0, unit="V")
    if supplies.ndim > 1 or (dwell.ndim and dwell.shape != supplies.shape):
        raise CoilError("give one dwell, or as many as there are supply voltages")
    circuits = [primary.at_supply(float(volts)) for volts in supplies.flat]

    leading = supplies.shape + (1,) * speeds.ndim
    shape = supplies.shape + speeds.shape
    shortest_ms = np.broadcast_to(_degrees_to_ms(shortest_deg, speeds), shape)
    wanted = np.broadcast_to(dwell, supplies.shape).reshape(leading)
    limit = shortest_deg * 1000.0 / 6.0 / (dwell + spark)
    on = np.clip(shortest_ms - spark, 0.0, wanted)
    per_supply = on.reshape(len(circuits), *speeds.shape)
    charges = [circuit.charge(times) for circuit, times in zip(circuits, per_supply, strict=True)]

    def gathered(which: str) -> FloatArray:
        return np.array([getattr(charge, which) for charge in charges]).reshape(shape)

    current = gathered("end_a")
    mean_ms = _degrees_to_ms(mean_deg, speeds)
    mean_square = gathered("square_a2ms") / mean_ms
    fits = shortest_ms - spark >= wanted * (1.0 - _ROUNDING)
    return DwellBudget(
        limit_rpm=same_shape_as_asked(limit),
        fits=bool(fits) if fits.ndim == 0 else fits,
        interval_ms=same_shape_as_asked(np.array(shortest_ms)),
        on_ms=same_shape_as_asked(on),
        current_a=same_shape_as_asked(current),
        energy_mj=primary.energy(current),
        rms_a=same_shape_as_asked(np.sqrt(mean_square)),
        mean_a=same_shape_as_asked(gathered("amount_ams") / mean_ms),
        heat_w=same_shape_as_asked(primary.resistance_ohm * mean_square),
        duty=same_shape_as_asked(on / mean_ms),
    )


def steady_over_speed(
    primary: Primary,
    cylinders: int,
    dwell_ms: float,
    rpm: ArrayLike,
    discharge_ohm: float,
    burn_v: float,
    *,
    spark_ms: float = 0.0,
    strokes: int = 4,
) -> Steady:
    """The coil's repeating state at each speed of an evenly firing engine.

    With `spark_ms` zero the unit keeps the dwell and cuts the spark short; otherwise the spark keeps that
    time and the dwell is cut. Draw both: they part where the dwell no longer fits.

    Parameters
    ----------
    primary, cylinders, dwell_ms, rpm, strokes
        As `dwell_budget`.
    discharge_ohm, burn_v : float
        As `Primary.steady`. [ohm], [V]
    spark_ms : float
        Time kept for the spark. [ms]

    Raises
    ------
    TimingError
        If a figure is out of its range or not finite.
    """
    dwell = number(dwell_ms, "the requested dwell", above=0.0, unit="ms")
    spark = number(spark_ms, "the time kept for the spark", low=0.0, unit="ms")
    interval = _degrees_to_ms(firing_angle(cylinders, strokes), rpm)
    return primary.steady(interval, np.clip(interval - spark, 0.0, dwell), discharge_ohm, burn_v)


def dwell_for_supplies(primary: Primary, current_a: float, supply_v: ArrayLike) -> FloatOrArray:
    """Dwell that reaches `current_a` at each supply: the table for a unit that follows the battery. [ms]

    Parameters
    ----------
    primary : Primary
        The coil's circuit; its own supply is not used.
    current_a : float
        Wanted current, zero or more. [A]
    supply_v : float or array
        Supplies, more than the switch's drop. [V]

    Returns
    -------
    float or array
        Of the shape of `supply_v`; infinite where the current is never reached.

    Raises
    ------
    CoilError
        If a supply does not exceed the switch's drop.
    TimingError
        If a figure is out of its range or not finite.
    """
    wanted = number(current_a, "the wanted current", low=0.0, unit="A")
    supplies = within(supply_v, "the supply voltage", above=0.0, unit="V")
    times = [primary.at_supply(float(volts)).dwell_for(wanted) for volts in supplies.flat]
    return same_shape_as_asked(np.array(times, dtype=np.float64).reshape(supplies.shape))


def dwell_time(angle_deg: ArrayLike, rpm: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """How long points of dwell angle `angle_deg` are closed. [ms]

    Parameters
    ----------
    angle_deg : float or array
        Dwell angle, 0 to 360. [degrees of distributor]
    rpm : float or array
        Speed, above zero. [rpm at the crank]
    strokes : int
        4: the distributor turns once in two turns of the crank. 2: as fast as the crank.

    Raises
    ------
    TimingError
        If a figure is out of its range or not finite.

    Notes
    -----
    t = b / (3 n) seconds on a four-stroke. Derived.
    """
    angle = within(angle_deg, "the dwell angle", low=0.0, high=360.0, unit="°")
    return same_shape_as_asked(_degrees_to_ms(crank_from_distributor(angle, strokes), rpm))


def dwell_angle(time_ms: ArrayLike, rpm: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Angle the distributor turns through in `time_ms`: the inverse of `dwell_time`. [degrees of distributor]

    It does not depend on the number of cylinders. More than 360/N degrees cannot be: see `dwell_duty`.

    Parameters
    ----------
    time_ms : float or array
        Dwell, zero or more. [ms]
    rpm : float or array
        Speed, above zero. [rpm at the crank]
    strokes : int
        4 or 2.

    Raises
    ------
    TimingError
        If a figure is out of its range or not finite.
    """
    time = within(time_ms, "the dwell", low=0.0, unit="ms")
    speeds = within(rpm, "engine speed", above=0.0, unit="rpm")
    return distributor_from_crank(seconds_to_degrees(time / 1000.0, rpm=speeds), strokes)


def dwell_duty(time_ms: ArrayLike, cylinders: int, rpm: ArrayLike, strokes: int = 4) -> FloatOrArray:
    """Share of the interval between two sparks that a dwell asks for; above 1 it is impossible.

    Parameters
    ----------
    time_ms : float or array
        Dwell, zero or more. [ms]
    cylinders : int
        Sparks of the coil in one working cycle.
    rpm : float or array
        Speed, above zero. [rpm at the crank]
    strokes : int
        4 or 2.

    Raises
    ------
    TimingError
        If a figure is out of its range or not finite.
    """
    time = within(time_ms, "the dwell", low=0.0, unit="ms")
    interval = _degrees_to_ms(firing_angle(cylinders, strokes), rpm)
    return same_shape_as_asked(np.asarray(time / interval))
