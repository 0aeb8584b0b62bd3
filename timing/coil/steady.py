"""The coil in its repeating state: what is left in it from one spark to the next, and how hot it runs."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing.coil.circuit import CoilError, Primary
from timing.figures import Figures
from timing.inputs import FloatArray, FloatOrArray, same_shape_as_asked, within


@dataclass(frozen=True, slots=True, eq=False)
class Steady(Figures):
    """The coil in its repeating state, every spark like the last. Floats, or arrays of one shape.

    Attributes
    ----------
    peak_a, residual_a : float or array
        Current when the spark begins, and what is still in the coil when it is switched on again. [A]
    rms_a, mean_a : float or array
        Of the primary current over the whole interval between two sparks. [A]
    out_mj : float or array
        Energy the coil gives to one spark. [mJ]
    heat_w : float or array
        Heat in the coil's own primary winding. [W]
    ballast_heat_w : float or array
        Heat in the ballast resistor. [W]
    switch_hold_w : float or array
        Heat in the unit's switch from holding the current at its limit; its own drop comes on top. [W]
    natural_spark_ms : float or array
        How long the spark would last if it were left to end by itself; infinite when nothing opposes it. [ms]
    rise_ms, hold_ms : float or array
        Part of the on-time in which the current rises, and part in which it is held at the limit. [ms]
    duty : float or array
        Share of the time the coil is switched on. [0 to 1]
    """

    peak_a: FloatOrArray
    residual_a: FloatOrArray
    rms_a: FloatOrArray
    mean_a: FloatOrArray
    out_mj: FloatOrArray
    heat_w: FloatOrArray
    ballast_heat_w: FloatOrArray
    switch_hold_w: FloatOrArray
    natural_spark_ms: FloatOrArray
    rise_ms: FloatOrArray
    hold_ms: FloatOrArray
    duty: FloatOrArray


def steady_state(
    primary: Primary, interval_ms: ArrayLike, on_ms: ArrayLike, discharge_ohm: ArrayLike, burn_v: ArrayLike
) -> Steady:
    """The repeating state when the coil is on for `on_ms` in every `interval_ms` and sparks in between.

    If it is switched on again before its spark has ended, the current left in it stays for the next one.

    Parameters
    ----------
    primary : Primary
        The coil's circuit, its inductance known.
    interval_ms : float or array
        From one spark to the next, above zero. [ms]
    on_ms : float or array
        Time the coil is on in each interval, zero to `interval_ms`. [ms] The rest is left to the spark.
    discharge_ohm : float or array
        Resistance the spark's current meets, referred to the primary: that of the secondary divided by
        the square of the turns ratio, above zero. [ohm]
    burn_v : float or array
        The spark's voltage referred to the primary: divided by the turns ratio, zero or more. [V]

    Returns
    -------
    Steady
        Of the broadcast shape of the four.

    Raises
    ------
    CoilError
        If the coil would be on for longer than the interval, or the inductance is not known.
    TimingError
        If a figure is out of its range or not finite.

    References
    ----------
    Derived from the RL circuit: with a = exp(-t_on R/L), b = exp(-t_off R2/L), I_b = V_b/R2,
    I_pk = (I_f (1 - a) - a (1 - b) I_b) / (1 - a b), I_res = b I_pk - (1 - b) I_b, and I_res = 0 where
    that is negative. A current limit caps I_pk; what is left follows from the capped current.
    """
    interval = within(interval_ms, "the interval between sparks", above=0.0, unit="ms")
    on = within(on_ms, "the time the coil is on", low=0.0, unit="ms")
    path = within(discharge_ohm, "the discharge resistance", above=0.0, unit="ohm")
    burn = within(burn_v, "the burning voltage", low=0.0, unit="V")
    interval, on, path, burn = np.broadcast_arrays(interval, on, path, burn)
    too_long = on > interval
    if too_long.any():
        asked, there_is = on[too_long].flat[0], interval[too_long].flat[0]
        raise CoilError(f"the coil cannot be on for {asked:g} ms in every {there_is:g} ms")

    tau, final = primary.time_constant_ms, primary.final_a
    discharge_tau = primary.known_inductance_mh / path
    opposing = burn / path  # the discharge tends to this current backwards, and stops at none
    charge = on / tau
    decay = (interval - on) / discharge_tau

    def left(peak: FloatArray) -> FloatArray:
        return np.maximum(peak * np.exp(-decay) + opposing * np.expm1(-decay), 0.0)

    lasting = np.asarray(
        (-final * np.expm1(-charge) + np.exp(-charge) * np.expm1(-decay) * opposing) / -np.expm1(-(charge + decay))
    )
    from_rest = np.asarray(-final * np.expm1(-charge))
    peak = np.where(left(lasting) > 0.0, lasting, from_rest)
    if primary.current_limit_a is not None:
        peak = np.minimum(peak, primary.current_limit_a)
    residual = left(peak)

    charged = primary.charge_from(residual, on)
    mean_square = np.asarray(charged.square_a2ms / interval)
    holding = charged.hold_ms / interval
    return Steady(
        peak_a=same_shape_as_asked(peak),
        residual_a=same_shape_as_asked(residual),
        rms_a=same_shape_as_asked(np.sqrt(mean_square)),
        mean_a=same_shape_as_asked(np.asarray(charged.amount_ams / interval)),
        out_mj=same_shape_as_asked(0.5 * primary.known_inductance_mh * (peak**2 - residual**2)),
        heat_w=same_shape_as_asked(primary.resistance_ohm * mean_square),
        ballast_heat_w=same_shape_as_asked(primary.ballast_ohm * mean_square),
        switch_hold_w=same_shape_as_asked(np.asarray((primary.net_v - primary.total_ohm * peak) * peak * holding)),
        natural_spark_ms=same_shape_as_asked(_natural_spark(discharge_tau, peak, opposing)),
        rise_ms=same_shape_as_asked(np.asarray(charged.rise_ms)),
        hold_ms=same_shape_as_asked(np.asarray(charged.hold_ms)),
        duty=same_shape_as_asked(on / interval),
    )


def _natural_spark(discharge_tau: FloatArray, peak: FloatArray, opposing: FloatArray) -> FloatArray:
    """Time for the current to fall from `peak` to nothing: τ₂ ln(1 + I_pk/I_b). [ms]"""
    ends = opposing > 0.0
    with np.errstate(over="ignore"):  # a spark that next to nothing opposes lasts for ever: the answer is right
        falling = discharge_tau * np.log1p(peak / np.where(ends, opposing, 1.0))
    return np.where(ends, falling, np.where(peak > 0.0, math.inf, 0.0))
