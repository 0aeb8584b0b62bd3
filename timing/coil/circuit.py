"""The circuit through a coil: how its current rises, and what the coil then holds."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.copper import resistance_at
from timing.errors import TimingError
from timing.inputs import FloatArray, FloatOrArray, number, same_shape_as_asked, within

# Closer than this to the final current is "never": otherwise the rounding of a subtraction decides whether
# a coil that tends to 4 A takes for ever or 37 time constants to get there.
_REACHED = 1e-12


class CoilError(TimingError):
    """A coil, a dwell or a supply that cannot be worked with."""


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
        return self.known_inductance_mh / self.total_ohm

    @property
    def known_inductance_mh(self) -> float:
        """The inductance, where somebody has measured it. [mH]

        Raises
        ------
        CoilError
            If the inductance is not known.
        """
        if self.inductance_mh is None:
            raise CoilError("the coil's inductance is not known: how its current rises cannot be told")
        return self.inductance_mh

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
        return same_shape_as_asked(0.5 * self.known_inductance_mh * amperes * amperes)

    def charge(self, on_ms: ArrayLike) -> Charge:
        """One switching-on of `on_ms`, beginning with no current in the coil.

        Parameters
        ----------
        on_ms : float or array
            Time the coil is on, zero or more. [ms]

        Returns
        -------
        Charge
            Of the shape of `on_ms`.

        Raises
        ------
        CoilError
            If the inductance is not known.
        TimingError
            If a time is negative or not finite.
        """
        on = within(on_ms, "the time the coil is on", low=0.0, unit="ms")
        return Charge(*(same_shape_as_asked(np.asarray(figure)) for figure in self.charge_from(np.zeros_like(on), on)))

    def charge_from(self, start_a: FloatArray, on_ms: FloatArray) -> Charge:
        """One switching-on with current still in the coil.

        Parameters
        ----------
        start_a : array
            Current left in it, zero to `highest_a`; checked by the caller. [A]
        on_ms : array
            Time it is on, of the same shape; checked by the caller. [ms]

        Returns
        -------
        Charge
            Arrays of that shape.

        Raises
        ------
        CoilError
            If the inductance is not known.

        References
        ----------
        The series RL circuit and its square integrated over the rise, then a constant current; derived.
        """
        tau, final, held_a = self.time_constant_ms, self.final_a, self.highest_a
        missing = final - start_a
        rise = np.array(on_ms)
        if held_a < final:
            rise = np.minimum(on_ms, tau * np.log(missing / (final - held_a)))
        hold = on_ms - rise
        once = -tau * np.expm1(-rise / tau)
        twice = -tau / 2.0 * np.expm1(-2.0 * rise / tau)
        square = final**2 * rise - 2.0 * final * missing * once + missing**2 * twice
        amount = final * rise - missing * once
        return Charge(
            end_a=self._end_of_rise(start_a, on_ms),
            rise_ms=rise,
            hold_ms=hold,
            # Two large terms cancel in a very short rise: rounding must not leave a negative square.
            square_a2ms=np.maximum(square, 0.0) + held_a**2 * hold,
            amount_ams=np.maximum(amount, 0.0) + held_a * hold,
        )

    def _end_of_rise(self, start_a: FloatArray, on_ms: FloatArray) -> FloatArray:
        unlimited = start_a - (self.final_a - start_a) * np.expm1(-on_ms / self.time_constant_ms)
        return np.asarray(np.minimum(unlimited, self.highest_a))
