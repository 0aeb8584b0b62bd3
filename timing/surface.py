"""Total advance over speed and manifold vacuum: what the engine is given, and what it is the sum of."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.inputs import FloatArray, FloatOrArray, finite, number, same_shape_as_asked
from timing.lookup import HeldLine, in_runs
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable


class Parts(NamedTuple):
    """What one total is the sum of: base + speed + vacuum + boost = total. [degrees of crank]

    Attributes
    ----------
    base : float or array
        Base timing, the same everywhere.
    speed : float or array
        What the speed curve adds.
    vacuum : float or array
        What the vacuum part adds.
    boost : float or array
        What boost takes away: zero or negative.
    total : float or array
        The spark's place, positive before top dead centre.
    """

    base: FloatOrArray
    speed: FloatOrArray
    vacuum: FloatOrArray
    boost: FloatOrArray
    total: FloatOrArray


@dataclass(frozen=True, slots=True)
class TotalAdvance:
    """Base timing, speed curve, vacuum part and boost retard as one surface.

    Attributes
    ----------
    base : float
        Base timing. [degrees of crank before top dead centre]
    curve : AdvanceCurve
        Advance by speed, counted from the base. [degrees of crank]
    vacuum : VacuumRamp, VacuumTable or None
        What vacuum adds.
    boost : BoostRetard or None
        What boost takes away.

    Raises
    ------
    TimingError
        If the base is not a finite number, or a part is of another kind.
    """

    base: float
    curve: AdvanceCurve
    vacuum: VacuumRamp | VacuumTable | None
    boost: BoostRetard | None = None
    _speed_line: HeldLine = field(init=False, repr=False, compare=False)
    _vacuum_line: HeldLine | None = field(init=False, repr=False, compare=False)
    _boost_line: HeldLine | None = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "base", number(self.base, "base timing"))
        if not isinstance(self.curve, AdvanceCurve):
            raise TimingError("the speed curve must be an AdvanceCurve")
        if not isinstance(self.vacuum, VacuumRamp | VacuumTable | None):
            raise TimingError("the vacuum part must be a VacuumRamp, a VacuumTable or nothing")
        if not isinstance(self.boost, BoostRetard | None):
            raise TimingError("the boost part must be a BoostRetard or nothing")
        speed_line = HeldLine(np.array(self.curve.rpm), self.base + np.array(self.curve.degrees))
        vacuum_line = None
        if isinstance(self.vacuum, VacuumRamp):
            ramp = self.vacuum
            vacuum_line = HeldLine(np.array([ramp.start, ramp.full]), np.array([0.0, ramp.full_deg]))
        boost_line = None
        if self.boost is not None:
            # Boost is vacuum below nought, and what it takes is laid as a line over that: highest boost first.
            boost_line = HeldLine(-np.array(self.boost.boost[::-1]), -np.array(self.boost.degrees[::-1]))
        object.__setattr__(self, "_speed_line", speed_line)
        object.__setattr__(self, "_vacuum_line", vacuum_line)
        object.__setattr__(self, "_boost_line", boost_line)

    def advance(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatOrArray:
        """Total advance at each pair of speed and vacuum. [degrees of crank before top dead centre]

        Parameters
        ----------
        rpm : float or array
            Engine speed, zero or more. [rpm at the crank]
        vacuum : float or array
            Manifold vacuum, broadcast against `rpm`. Negative is boost. [kPa below atmosphere]

        Returns
        -------
        float or array
            A float for two single figures, otherwise an array of the broadcast shape.

        Raises
        ------
        TimingError
            If a figure is not finite, a speed is negative, or the shapes do not go together.
        """
        return in_runs(self._total, rpm=rpm, vacuum=vacuum)

    def table(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> FloatArray:
        """Total advance at every crossing of the nodes. [degrees of crank before top dead centre]

        Parameters
        ----------
        rpm : float or array, shape (m,)
            Speeds, zero or more, in any order. [rpm at the crank]
        vacuum : float or array, shape (n,)
            Vacuum, negative under boost, in any order. [kPa below atmosphere]

        Returns
        -------
        array, shape (n, m)
            Rows are vacuum, columns are speed, in the order asked for.

        Raises
        ------
        TimingError
            As `advance`, and if the nodes are not plain lists.
        """
        speeds = np.atleast_1d(finite(rpm, "engine speed"))
        vacua = np.atleast_1d(finite(vacuum, "vacuum"))
        if speeds.ndim != 1 or vacua.ndim != 1:
            raise TimingError("the nodes of a table are two plain lists: speeds and vacuum")
        return np.asarray(self.advance(rpm=speeds[np.newaxis, :], vacuum=vacua[:, np.newaxis]))

    def parts(self, *, rpm: ArrayLike, vacuum: ArrayLike) -> Parts:
        """What the total at each pair of speed and vacuum is the sum of. [degrees of crank]

        Parameters
        ----------
        rpm, vacuum : float or array
            As for `advance`.

        Returns
        -------
        Parts
            Every part has the shape of the total.

        Raises
        ------
        TimingError
            As `advance`.
        """
        total = np.asarray(self.advance(rpm=rpm, vacuum=vacuum))
        shape = total.shape
        vacua = np.asarray(vacuum, dtype=np.float64)
        added = 0.0 if self.vacuum is None else self.vacuum.advance(rpm=rpm, vacuum=vacua)
        # 0.0 - 0.0 is nought, where -0.0 would be printed with a sign.
        taken = 0.0 if self.boost is None else 0.0 - np.asarray(self.boost.retard(-vacua))
        base, speed, by_vacuum, by_boost = (
            same_shape_as_asked(np.broadcast_to(part, shape).copy())
            for part in (self.base, self.curve.advance(rpm), added, taken)
        )
        return Parts(base, speed, by_vacuum, by_boost, base + speed + by_vacuum + by_boost)

    def _total(self, rpm: FloatArray, vacuum: FloatArray) -> FloatArray:
        total = self._speed_line.at(rpm)
        if self._vacuum_line is not None:
            added = self._vacuum_line.at(vacuum)
            if isinstance(self.vacuum, VacuumRamp) and self.vacuum.from_rpm > 0:
                added *= rpm >= self.vacuum.from_rpm
            total += added
        elif isinstance(self.vacuum, VacuumTable):
            total += self.vacuum.advance(rpm=rpm, vacuum=vacuum)
        if self._boost_line is not None:
            total += self._boost_line.at(vacuum)
        return total
