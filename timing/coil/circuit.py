"""The circuit through a coil: how its current rises, what a spark gets from it, and how hot it runs."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.copper import resistance_at
from timing.errors import TimingError
from timing.figures import Figures
from timing.inputs import FloatArray, FloatOrArray, number, same_shape_as_asked, within

# Closer than this to the final current is "never": otherwise the rounding of a subtraction decides whether
# a coil that tends to 4 A takes for ever or 37 time constants to get there.
_REACHED = 1e-12


class CoilError(TimingError):
    """A coil, a dwell or a supply that cannot be worked with."""


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


class Charge(NamedTuple):
    """One switching-on of the coil. Floats, or arrays of one shape.

    Attributes
    ----------
    end_a : float or array
        Current when it is switched off. [A]
    rise_ms, hold_ms : float or array
        Part in which the current rises, and part in which it is held at the limit. [ms]
    square_a2ms, amount_ams : float or array
        The square of the current, and the current, summed over the time. [A² ms], [A ms]
    """

    end_a: FloatOrArray
    rise_ms: FloatOrArray
    hold_ms: FloatOrArray
    square_a2ms: FloatOrArray
    amount_ams: FloatOrArray


class _ChargeArrays(NamedTuple):
    end_a: FloatArray
    rise_ms: FloatArray
    hold_ms: FloatArray
    square_a2ms: FloatArray
    amount_ams: FloatArray


@dataclass(frozen=True, slots=True)
class Primary:
    """The circuit through a coil's primary winding, all resistances at working temperature.

    Attributes
    ----------
    resistance_ohm : float
        The coil's own primary, above zero. [ohm]
    inductance_mh : float or None
        Of the primary, at working current, above zero. [mH] None where nobody has measured it: then only what the
        resistances decide can be told, not what needs time.
    supply_v : float
        Voltage at the feed, more than `switch_drop_v`. [V]
    ballast_ohm : float
        Series resistor in the feed; zero when there is none or it is by-passed. [ohm]
    current_limit_a : float or None
        Current at which the unit stops the rise and holds; None when it does not. [A]
    wiring_ohm : float
        Feed, return and joints. [ohm]
    switch_drop_v : float
        Across the unit's switch when it is on: about 1 V for a bipolar stage, 0.2 V to 0.5 V for a
        field-effect one (from memory, no source). [V]

    Raises
    ------
    CoilError
        If the supply does not exceed the switch's drop.
    TimingError
        If a resistance, the inductance or the limit is zero or negative, or any figure is not finite.

    Notes
    -----
    i(t) = I_f + (I_0 - I_f) exp(-t/τ), I_f = V/R, τ = L/R: the series RL circuit of any textbook. Iron
    saturates, so the real current rises faster near its end than this says; where it matters, measure the
    charge curve.
    """

    resistance_ohm: float
    inductance_mh: float | None
    supply_v: float
    ballast_ohm: float = 0.0
    current_limit_a: float | None = None
    wiring_ohm: float = field(default=0.0, kw_only=True)
    switch_drop_v: float = field(default=0.0, kw_only=True)

    def __post_init__(self) -> None:
        def keep(name: str, label: str, unit: str, *, above: float | None = None) -> None:
            low = 0.0 if above is None else None
            object.__setattr__(self, name, number(getattr(self, name), label, above=above, low=low, unit=unit))

        keep("resistance_ohm", "the coil's primary resistance", "ohm", above=0.0)
        if self.inductance_mh is not None:
            keep("inductance_mh", "the coil's primary inductance", "mH", above=0.0)
        keep("supply_v", "the supply voltage", "V", above=0.0)
        keep("ballast_ohm", "the ballast resistance", "ohm")
        keep("wiring_ohm", "the wiring's resistance", "ohm")
        keep("switch_drop_v", "the voltage across the switch", "V")
        if self.current_limit_a is not None:
            keep("current_limit_a", "the current limit", "A", above=0.0)
        if self.supply_v <= self.switch_drop_v:
            raise CoilError(
                f"a supply of {self.supply_v:g} V does not exceed the {self.switch_drop_v:g} V"
                " that the unit's switch takes"
            )

    @property
    def total_ohm(self) -> float:
        """Coil, ballast and wiring in series. [ohm]"""
        return self.resistance_ohm + self.ballast_ohm + self.wiring_ohm

    @property
    def net_v(self) -> float:
        """What drives the current: the supply less the switch's drop. [V]"""
        return self.supply_v - self.switch_drop_v

    @property
    def final_a(self) -> float:
        """Current the circuit tends to, before any limit. [A]"""
        return self.net_v / self.total_ohm

    @property
    def highest_a(self) -> float:
        """Current it tends to, or the limit if that is lower. [A]"""
        return self.final_a if self.current_limit_a is None else min(self.final_a, self.current_limit_a)

    @property
    def time_constant_ms(self) -> float:
        """τ = L/R. [ms]

        Raises
        ------
        CoilError
            If the inductance is not known.
        """
        return self._inductance_mh() / self.total_ohm

    @property
    def left_on_heat_w(self) -> float:
        """Heat in the primary with the ignition on, the engine standing and nothing switching it off. [W]"""
        return self.resistance_ohm * self.highest_a**2

    def at_supply(self, supply_v: float) -> Primary:
        """The same circuit at another supply voltage, as when cranking. [V]"""
        return replace(self, supply_v=supply_v)

    def ballast_bypassed(self) -> Primary:
        """The same circuit with its ballast by-passed, as many cars do while cranking."""
        return replace(self, ballast_ohm=0.0)

    def at_temperature(self, temperature_c: float) -> Primary:
        """The circuit with its coil at `temperature_c`, if `resistance_ohm` is the figure at 20 °C. [°C]

        Ballast wire is not copper and keeps its resistance; so does the wiring, away from the coil's heat.
        """
        warm = resistance_at(self.resistance_ohm, number(temperature_c, "the winding's temperature"))
        return replace(self, resistance_ohm=float(warm))

    def current(self, t: ArrayLike) -> FloatOrArray:
        """Current `t` milliseconds after the coil was switched on with none in it. [A]

        Parameters
        ----------
        t : float or array
            Time since switching on, zero or more. [ms] The current tends to `final_a` and is held at
            `current_limit_a`.

        Returns
        -------
        float or array
            Of the shape of `t`. [A]

        Raises
        ------
        CoilError
            If the inductance is not known.
        TimingError
            If a time is negative or not finite.
        """
        time = within(t, "the time since switching on", low=0.0, unit="ms")
        return same_shape_as_asked(self._end_of_rise(np.zeros_like(time), time))

    def dwell_for(self, current: ArrayLike) -> FloatOrArray:
        """How long the coil must be on to reach `current`, infinite where it never does. [ms]

        Parameters
        ----------
        current : float or array
            Wanted current, zero or more. [A] A current at or above `final_a`, or above `current_limit_a`, is
            never reached and answers `math.inf`: ask `math.isinf`, or compare it with the time there is.

        Returns
        -------
        float or array
            Of the shape of `current`. [ms]

        Raises
        ------
        CoilError
            If the inductance is not known.
        TimingError
            If a current is negative or not finite.
        """
        target = within(current, "the wanted current", low=0.0, unit="A")
        share = np.asarray(target / self.final_a)
        reached = share < 1.0 - _REACHED
        if self.current_limit_a is not None:
            reached &= target <= self.current_limit_a
        rising = -self.time_constant_ms * np.log1p(-np.where(reached, share, 0.0))
        return same_shape_as_asked(np.where(reached, rising, math.inf))

    def energy(self, current: ArrayLike) -> FloatOrArray:
        """Energy the coil holds at `current`, whether or not this circuit reaches it: ½ L I². [mJ]

        Parameters
        ----------
        current : float or array
            Zero or more. [A]

        Raises
        ------
        TimingError
            If a current is negative or not finite.
        """
        amperes = within(current, "the current", low=0.0, unit="A")
        return same_shape_as_asked(0.5 * self._inductance_mh() * amperes * amperes)

    def steady(self, interval_ms: ArrayLike, on_ms: ArrayLike, discharge_ohm: ArrayLike, burn_v: ArrayLike) -> Steady:
        """The repeating state when the coil is on for `on_ms` in every `interval_ms` and sparks in between.

        If it is switched on again before its spark has ended, the current left in it stays for the next one.

        Parameters
        ----------
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

        Notes
        -----
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

        tau, final = self.time_constant_ms, self.final_a
        discharge_tau = self._inductance_mh() / path
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
        if self.current_limit_a is not None:
            peak = np.minimum(peak, self.current_limit_a)
        residual = left(peak)

        charged = self._charge(residual, on)
        mean_square = charged.square_a2ms / interval
        holding = charged.hold_ms / interval
        return Steady(
            peak_a=same_shape_as_asked(peak),
            residual_a=same_shape_as_asked(residual),
            rms_a=same_shape_as_asked(np.sqrt(mean_square)),
            mean_a=same_shape_as_asked(charged.amount_ams / interval),
            out_mj=same_shape_as_asked(0.5 * self._inductance_mh() * (peak**2 - residual**2)),
            heat_w=same_shape_as_asked(self.resistance_ohm * mean_square),
            ballast_heat_w=same_shape_as_asked(self.ballast_ohm * mean_square),
            switch_hold_w=same_shape_as_asked((self.net_v - self.total_ohm * peak) * peak * holding),
            natural_spark_ms=same_shape_as_asked(_natural_spark(discharge_tau, peak, opposing)),
            rise_ms=same_shape_as_asked(charged.rise_ms),
            hold_ms=same_shape_as_asked(charged.hold_ms),
            duty=same_shape_as_asked(on / interval),
        )

    def charge(self, on_ms: ArrayLike) -> Charge:
        """One switching-on of `on_ms`, beginning with no current in the coil.

        Parameters
        ----------
        on_ms : float or array
            Time the coil is on, zero or more. [ms]

        Raises
        ------
        TimingError
            If a time is negative or not finite.
        """
        on = within(on_ms, "the time the coil is on", low=0.0, unit="ms")
        return Charge(*map(same_shape_as_asked, self._charge(np.zeros_like(on), on)))

    def _inductance_mh(self) -> float:
        if self.inductance_mh is None:
            raise CoilError("the coil's inductance is not known: how its current rises cannot be told")
        return self.inductance_mh

    def _end_of_rise(self, start_a: FloatArray, on_ms: FloatArray) -> FloatArray:
        unlimited = start_a - (self.final_a - start_a) * np.expm1(-on_ms / self.time_constant_ms)
        return np.asarray(np.minimum(unlimited, self.highest_a))

    def _charge(self, start_a: FloatArray, on_ms: FloatArray) -> _ChargeArrays:
        tau, final, held_a = self.time_constant_ms, self.final_a, self.highest_a
        missing = final - start_a
        rise = np.array(on_ms)
        if held_a < final:
            rise = np.minimum(on_ms, tau * np.log(missing / (final - held_a)))
        hold = np.asarray(on_ms - rise)
        once = -tau * np.expm1(-rise / tau)
        twice = -tau / 2.0 * np.expm1(-2.0 * rise / tau)
        square = final**2 * rise - 2.0 * final * missing * once + missing**2 * twice
        amount = final * rise - missing * once
        return _ChargeArrays(
            end_a=self._end_of_rise(start_a, on_ms),
            rise_ms=np.asarray(rise),
            hold_ms=hold,
            # Two large terms cancel in a very short rise: rounding must not leave a negative square.
            square_a2ms=np.asarray(np.maximum(square, 0.0) + held_a**2 * hold),
            amount_ams=np.asarray(np.maximum(amount, 0.0) + held_a * hold),
        )


def _natural_spark(discharge_tau: FloatArray, peak: FloatArray, opposing: FloatArray) -> FloatArray:
    """Time for the current to fall from `peak` to nothing: τ₂ ln(1 + I_pk/I_b). [ms]"""
    ends = opposing > 0.0
    with np.errstate(over="ignore"):  # a spark that next to nothing opposes lasts for ever: the answer is right
        falling = discharge_tau * np.log1p(peak / np.where(ends, opposing, 1.0))
    return np.where(ends, falling, np.where(peak > 0.0, math.inf, 0.0))
