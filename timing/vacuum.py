"""What manifold pressure does to the spark: advance under vacuum, as a ramp or a table, and retard under boost."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import FloatOrArray, finite, number, same_shape_as_asked, together, within
from timing.lookup import HeldGrid, checked_table, rising
from timing.units import HIGHEST_BAROMETER_KPA

# Half a turn of advance is no ignition timing any more, whatever the engine: a slipped digit.
_MOST_DEGREES = 90.0


class VacuumError(TimingError):
    """A vacuum or boost part that no capsule and no unit could follow."""


@dataclass(frozen=True, slots=True)
class VacuumRamp:
    """Advance added by manifold vacuum: none up to `start`, a straight line to `full`, then held.

    Attributes
    ----------
    start, full : float
        Vacuum where the advance begins, and where it is complete. [kPa below atmosphere]
    full_deg : float
        Advance once complete, zero or more. [degrees of crank]
    from_rpm : float
        Lowest speed at which it acts; below it the vacuum adds nothing. [rpm at the crank]

    Raises
    ------
    VacuumError
        If the ramp does not rise from `start` to `full`.
    TimingError
        If a figure is negative, not a finite number, or beyond any atmosphere.
    """

    start: float
    full: float
    full_deg: float
    from_rpm: float = 0.0

    def __post_init__(self) -> None:
        for name, what in (
            ("start", "the vacuum where the advance begins"),
            ("full", "the vacuum of full advance"),
        ):
            figure = number(getattr(self, name), what, low=0, high=HIGHEST_BAROMETER_KPA, unit="kPa")
            object.__setattr__(self, name, figure)
        if self.start >= self.full:
            raise VacuumError(
                f"vacuum advance begins at {self.start:g} kPa but is full at {self.full:g} kPa: it must be full later"
            )
        degrees = number(self.full_deg, "full vacuum advance", low=0, high=_MOST_DEGREES, unit="degrees")
        object.__setattr__(self, "full_deg", degrees)
        speed = number(self.from_rpm, "the lowest speed of the vacuum advance", low=0, unit="rpm")
        object.__setattr__(self, "from_rpm", speed)

    def advance(self, *, rpm: ArrayLike | None = None, vacuum: ArrayLike) -> FloatOrArray:
        """Advance added at `vacuum`. [degrees of crank]

        Parameters
        ----------
        rpm : float or array, optional
            Engine speed, zero or more; the ramp acts from `from_rpm` on, that speed included. May be left out only
            where `from_rpm` is 0. [rpm at the crank]
        vacuum : float or array
            Manifold vacuum, broadcast against `rpm`; negative under boost, which adds nothing. [kPa below atmosphere]

        Returns
        -------
        float or array
            A float for single figures, otherwise an array of the broadcast shape.

        Raises
        ------
        VacuumError
            If `rpm` is left out although the advance depends on it.
        TimingError
            If a figure is not finite, or a speed is negative.
        """
        if rpm is None and self.from_rpm > 0:
            raise VacuumError(
                f"this vacuum advance acts from {self.from_rpm:g} rpm on: it cannot be told without the speed"
            )
        vacua, speeds = together(
            finite(vacuum, "vacuum"),
            within(0.0 if rpm is None else rpm, "engine speed", low=0, unit="rpm"),
            what="vacuum and speeds",
        )
        degrees = np.interp(vacua, (self.start, self.full), (0.0, self.full_deg))
        return same_shape_as_asked(np.where(speeds >= self.from_rpm, degrees, 0.0))


@dataclass(frozen=True, slots=True, init=False)
class VacuumTable:
    """Advance added over speed and vacuum: a table, bilinear between its nodes and held at its edges.

    Attributes
    ----------
    rpm : tuple of float, length m
        Speeds of the columns, rising. [rpm at the crank]
    vacuum : tuple of float, length n
        Vacuum of the rows, rising; negative rows stand for boost. [kPa below atmosphere]
    degrees : tuple of n tuples of m floats
        What is added: one row a vacuum, one column a speed. Negative retards. [degrees of crank]

    Raises
    ------
    TableError
        If nodes do not rise, or the table does not have a row a vacuum and a column a speed.
    TimingError
        If a figure is not finite, a speed is negative, or degrees are beyond any timing.
    """

    rpm: tuple[float, ...]
    vacuum: tuple[float, ...]
    degrees: tuple[tuple[float, ...], ...]
    _grid: HeldGrid = field(init=False, repr=False, compare=False)

    def __init__(self, *, rpm: ArrayLike, vacuum: ArrayLike, degrees: ArrayLike) -> None:
        speeds, vacua, table = checked_table(rpm=rpm, vacuum=vacuum, values=degrees)
        within(vacua, "a vacuum node", high=HIGHEST_BAROMETER_KPA, unit="kPa")
        within(table, "vacuum advance", low=-_MOST_DEGREES, high=_MOST_DEGREES, unit="degrees")
        object.__setattr__(self, "rpm", tuple(speeds.tolist()))
        object.__setattr__(self, "vacuum", tuple(vacua.tolist()))
        object.__setattr__(self, "degrees", tuple(tuple(row) for row in table.tolist()))
        object.__setattr__(self, "_grid", HeldGrid(rpm=speeds, vacuum=vacua, values=table))

    def advance(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatOrArray:
        """Advance added at `rpm` and `vacuum`, held at the edges of the table. [degrees of crank]

        Parameters
        ----------
        rpm : float or array
            Engine speed, zero or more. [rpm at the crank]
        vacuum : float or array
            Manifold vacuum, broadcast against `rpm`; negative under boost. [kPa below atmosphere]

        Returns
        -------
        float or array
            A float for two single figures, otherwise an array of the broadcast shape.

        Raises
        ------
        TimingError
            If a figure is not finite, or a speed is negative.
        """
        return self._grid.at(rpm=rpm, vacuum=vacuum)


@dataclass(frozen=True, slots=True, init=False)
class BoostRetard:
    """Retard under boost: straight between its nodes, none up to the first and held above the last.

    Attributes
    ----------
    boost : tuple of float
        Boost at each node, rising. [kPa above atmosphere]
    degrees : tuple of float
        Degrees taken away there; none at the first node, and never less with more boost. [degrees of crank]

    Raises
    ------
    VacuumError
        If there are not as many degrees as nodes, the first is not 0, or the retard falls as boost rises.
    TimingError
        If a figure is negative or not finite, or the nodes do not rise.
    """

    boost: tuple[float, ...]
    degrees: tuple[float, ...]

    def __init__(self, boost: ArrayLike, degrees: ArrayLike) -> None:
        nodes = rising(within(boost, "boost", low=0, unit="kPa"), "the boost nodes", "kPa")
        retard = within(degrees, "retard under boost", low=0, high=_MOST_DEGREES, unit="degrees")
        if retard.shape != nodes.shape:
            raise VacuumError(
                f"a boost retard needs as many degrees as nodes, not {nodes.size} nodes and {retard.size} degrees"
            )
        if retard[0] != 0:
            raise VacuumError(
                f"the retard begins at its first node, {nodes[0]:g} kPa, with 0 degrees, not with {retard[0]:g}"
            )
        falling = np.flatnonzero(np.diff(retard) < 0)
        if falling.size:
            raise VacuumError(f"the retard falls above {nodes[falling[0]]:g} kPa of boost, where it must not")
        object.__setattr__(self, "boost", tuple(nodes.tolist()))
        object.__setattr__(self, "degrees", tuple(retard.tolist()))

    def retard(self, boost: ArrayLike) -> FloatOrArray:
        """Degrees taken away at `boost`, zero or more. [degrees of crank]

        Parameters
        ----------
        boost : float or array
            Manifold pressure above atmosphere; negative under vacuum, where nothing is taken. [kPa]

        Raises
        ------
        TimingError
            If a figure is not finite.
        """
        return same_shape_as_asked(np.asarray(np.interp(finite(boost, "boost"), self.boost, self.degrees)))
