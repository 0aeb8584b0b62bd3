"""Dwell over the speed range: when the requested time no longer fits, and what the spark is left with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing.coil.circuit import CoilError, Primary
from timing.coil.rhythm import spark_intervals
from timing.crank import degrees_to_seconds
from timing.figures import Figures
from timing.inputs import FloatArray, FloatOrArray, number, same_shape_as_asked, within
from timing.tolerance import LIMIT_TOLERANCE


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
        Time the coil is on before the spark with the least time: the dwell asked for, or what the spark before it
        leaves of the shortest interval. [ms]
    current_a : float or array
        Current reached when that spark begins. [A]
    energy_mj : float or array
        Energy in the coil when that spark begins. [mJ]
    rms_a, mean_a : float or array
        Of the primary current over time, all sparks of a cycle together. [A]
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
    *,
    rpm: ArrayLike,
    supply_v: ArrayLike | None = None,
    strokes: int = 4,
    intervals_deg: ArrayLike | None = None,
    wasted_spark: bool = False,
) -> DwellBudget:
    """How much of a requested dwell fits between sparks at each speed, and what is left for the spark.

    The spark keeps its time; what it leaves of the interval is the coil's, at most `dwell_ms`. Above
    `limit_rpm` the current before the spark with the least time falls.

    Parameters
    ----------
    primary : Primary
        The coil's circuit, its inductance known.
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
    strokes, intervals_deg, wasted_spark
        When the coil sparks, as for `spark_intervals`.

    Returns
    -------
    DwellBudget
        Floats, or arrays of the shape of `rpm`.

    Raises
    ------
    CoilError
        If the intervals do not make up a cycle, the inductance is not known, `dwell_ms` is a list of another length
        than `supply_v`, or a supply does not exceed the switch's drop.
    TimingError
        If a figure is out of its range or not finite.

    Notes
    -----
    For each interval t_on = min(t_request, interval - t_spark). With the times in seconds the whole fits up to
    n = shortest interval in degrees / (6 (t_d + t_spark)), for an even four-stroke 120 / (N (t_d + t_spark)). Current
    and heat over time are summed over all intervals. Derived.
    """
    ms_per_degree = 1000.0 * np.asarray(degrees_to_seconds(1.0, rpm=rpm))
    dwell = within(dwell_ms, "the requested dwell", above=0.0, unit="ms")
    spark = number(spark_ms, "the time kept for the spark", low=0.0, unit="ms")
    intervals = spark_intervals(cylinders, strokes=strokes, intervals_deg=intervals_deg, wasted_spark=wasted_spark)
    asked_v = primary.supply_v if supply_v is None else supply_v
    supplies = within(asked_v, "the supply voltage", above=0.0, unit="V")
    if supplies.ndim > 1 or (dwell.ndim and dwell.shape != supplies.shape):
        raise CoilError("give one dwell, or as many as there are supply voltages")
    circuits = [primary.at_supply(float(volts)) for volts in supplies.flat]

    shape = supplies.shape + ms_per_degree.shape
    # One row for each interval of the cycle; of the equal ones any is the shortest.
    intervals_ms = intervals.reshape(-1, *(1,) * ms_per_degree.ndim) * ms_per_degree
    shortest = int(np.argmin(intervals))
    asked = np.broadcast_to(dwell, supplies.shape).ravel()
    on = [np.clip(intervals_ms - spark, 0.0, each) for each in asked]
    charges = [circuit.charge(times) for circuit, times in zip(circuits, on, strict=True)]
    cycle_ms = intervals_ms.sum(axis=0)

    def before_the_least(rows: list[FloatArray]) -> FloatArray:
        return np.array([row[shortest] for row in rows]).reshape(shape)

    def over_a_cycle(rows: list[FloatArray]) -> FloatArray:
        return np.array([row.sum(axis=0) / cycle_ms for row in rows]).reshape(shape)

    current = before_the_least([np.asarray(charge.end_a) for charge in charges])
    mean_square = over_a_cycle([np.asarray(charge.square_a2ms) for charge in charges])
    shortest_ms = np.broadcast_to(intervals_ms[shortest], shape)
    least = asked.reshape(supplies.shape + (1,) * ms_per_degree.ndim)
    # As `timing.tolerance`, for a whole array: at the limit speed itself the dwell still fits.
    fits = shortest_ms - spark >= least - LIMIT_TOLERANCE * np.maximum(1.0, least)
    return DwellBudget(
        limit_rpm=same_shape_as_asked(float(intervals[shortest]) * 1000.0 / 6.0 / (dwell + spark)),
        fits=bool(fits) if fits.ndim == 0 else fits,
        interval_ms=same_shape_as_asked(np.array(shortest_ms)),
        on_ms=same_shape_as_asked(before_the_least(on)),
        current_a=same_shape_as_asked(current),
        energy_mj=primary.energy(current),
        rms_a=same_shape_as_asked(np.sqrt(mean_square)),
        mean_a=same_shape_as_asked(over_a_cycle([np.asarray(charge.amount_ams) for charge in charges])),
        heat_w=same_shape_as_asked(primary.resistance_ohm * mean_square),
        duty=same_shape_as_asked(over_a_cycle(on)),
    )
