"""What one entry of a unit can be set to: a figure on steps, nodes, a ramp, a table."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.inputs import number, whole, within
from timing.lookup import rising
from timing.units import PASCALS

# Two figures closer than this share of a step are the same: the noise of a unit conversion.
SAME_STEP = 1e-7
# And so is a figure that was kept to a millionth of a kPa, in any unit of pressure and on the finest of steps.
_KEPT_ON_STEP = 1e-4


class UnitError(TimingError):
    """A unit type that cannot be."""


@dataclass(frozen=True, slots=True)
class Steps:
    """The figures one entry can be set to: from `low` to `high` in equal steps, both ends included.

    Raises
    ------
    UnitError
        If `high` is below `low` or not on a step.
    TimingError
        If a figure is not finite, or the step is not above 0.
    """

    low: float
    high: float
    step: float

    def __post_init__(self) -> None:
        for name in ("low", "high"):
            object.__setattr__(self, name, number(getattr(self, name), f"the {name}est figure of an entry"))
        object.__setattr__(self, "step", number(self.step, "the step of an entry", above=0))
        if self.high < self.low:
            raise UnitError(f"an entry cannot go from {self.low:g} down to {self.high:g}")
        places = (self.high - self.low) / self.step
        if abs(places - round(places)) > SAME_STEP:
            last = self.figure(math.floor(places))
            raise UnitError(
                f"{self.high:g} is not on a step of {self.step:g} from {self.low:g}: the last one is {last:g}"
            )

    def figure(self, place: int) -> float:
        """The figure `place` steps above the lowest, free of the noise of adding steps up."""
        exact = Decimal(repr(self.low)) + whole(place, "the place of a figure") * Decimal(repr(self.step))
        return float(exact)

    def holds(self, value: float) -> bool:
        """Whether the entry can be set to exactly `value`."""
        place = self._places(value)
        return abs(place - round(place)) <= _KEPT_ON_STEP and 0 <= round(place) <= self._last

    def reaches(self, value: float) -> bool:
        """Whether `value` lies within the range, up to half a step outside it, so that rounding can bring it in."""
        return -0.5 - SAME_STEP <= self._places(value) <= self._last + 0.5 + SAME_STEP

    def is_below(self, value: float, other: float) -> bool:
        """Whether `value` is less than `other` by more than the noise of a conversion.

        Parameters
        ----------
        value, other : float
            In the unit of the entry.

        Returns
        -------
        bool
            Whether it is.
        """
        return self._places(value) < self._places(other) - SAME_STEP

    def figures(self) -> tuple[float, ...]:
        """Every figure the entry can be set to, rising."""
        return tuple(self.figure(place) for place in range(self._last + 1))

    def nearest(self, value: float) -> float:
        """The figure nearest to `value`; the lower of two equally near."""
        return self._at(value, lambda place: math.ceil(place - 0.5 - SAME_STEP))

    def nearest_upper(self, value: float) -> float:
        """The figure nearest to `value`; the higher of two equally near."""
        return self._at(value, lambda place: math.floor(place + 0.5 + SAME_STEP))

    def at_or_below(self, value: float) -> float:
        """The highest figure not above `value`, or the lowest there is."""
        return self._at(value, lambda place: math.floor(place + SAME_STEP))

    def at_or_above(self, value: float) -> float:
        """The lowest figure not below `value`, or the highest there is."""
        return self._at(value, lambda place: math.ceil(place - SAME_STEP))

    def text(self, value: float) -> str:
        """`value` with as many decimals as the entry has."""
        decimals = max(_decimals(self.low), _decimals(self.step))
        return f"{number(value, 'a figure of an entry') + 0.0:.{decimals}f}"

    @property
    def _last(self) -> int:
        return round((self.high - self.low) / self.step)

    def _at(self, value: float, place_of: Callable[[float], int]) -> float:
        return self.figure(min(max(place_of(self._places(value)), 0), self._last))

    def _places(self, value: float) -> float:
        """How many steps `value` lies above the lowest figure."""
        return (number(value, "a figure of an entry") - self.low) / self.step


@dataclass(frozen=True, slots=True, init=False)
class FixedNodes:
    """Curve nodes at speeds that cannot be changed. [rpm at the crank]"""

    rpm: tuple[float, ...]

    def __init__(self, rpm: ArrayLike) -> None:
        speeds = rising(within(rpm, "the speed of a node", low=0, unit="rpm"), "the speeds of the nodes", "rpm")
        object.__setattr__(self, "rpm", tuple(speeds.tolist()))


@dataclass(frozen=True, slots=True)
class FreeNodes:
    """Curve nodes whose speeds are keyed in as well.

    Attributes
    ----------
    count : int
        How many there are; all are used.
    speeds : Steps
        Where each may stand. [rpm at the crank]
    """

    count: int
    speeds: Steps

    def __post_init__(self) -> None:
        object.__setattr__(self, "count", whole(self.count, "the number of nodes", low=1))
        number(self.speeds.low, "the lowest speed of a node", low=0, unit="rpm")
        places = round((self.speeds.high - self.speeds.low) / self.speeds.step) + 1
        if places < self.count:
            raise UnitError(f"{self.count} nodes need as many speeds to stand at, and there are {places}")


@dataclass(frozen=True, slots=True)
class RampEntries:
    """A vacuum advance or boost retard keyed in as a ramp.

    Attributes
    ----------
    unit : str
        Unit of pressure the entries are in, as `timing.units.convert` knows it.
    start, full : Steps
        Where it begins and where it is complete. [`unit` below atmosphere; for boost, above]
    degrees : Steps
        Degrees once complete. [degrees of crank]
    from_rpm : Steps or None
        Lowest speed at which it acts, where the unit asks for one. [rpm at the crank]
    """

    unit: str
    start: Steps
    full: Steps
    degrees: Steps
    from_rpm: Steps | None = None

    def __post_init__(self) -> None:
        _refuse_unknown_pressure(self.unit)
        for steps, what in ((self.start, "the pressure"), (self.full, "the pressure"), (self.degrees, "the degrees")):
            if steps.low < 0:
                raise UnitError(f"{what} of a ramp cannot be below 0, not even {steps.low:g}")
        if self.full.high <= self.start.low:
            raise UnitError(
                f"a ramp that is full at {self.full.high:g} {self.unit} at the latest cannot begin at"
                f" {self.start.low:g} {self.unit} at the earliest"
            )


@dataclass(frozen=True, slots=True, init=False)
class TableEntries:
    """A vacuum part keyed in cell by cell: row by row of vacuum, and along each row by speed.

    Attributes
    ----------
    unit : str
        Unit of pressure of the rows, as `timing.units.convert` knows it.
    rpm : tuple of float
        Speeds of the columns. [rpm at the crank]
    vacuum : tuple of float
        Vacuum of the rows; negative for boost. [`unit` below atmosphere]
    degrees : Steps
        What a cell can hold. [degrees of crank]
    """

    unit: str
    rpm: tuple[float, ...]
    vacuum: tuple[float, ...]
    degrees: Steps

    def __init__(self, unit: str, *, rpm: ArrayLike, vacuum: ArrayLike, degrees: Steps) -> None:
        _refuse_unknown_pressure(unit)
        speeds = rising(within(rpm, "the speed of a column", low=0, unit="rpm"), "the speeds of a table", "rpm")
        object.__setattr__(self, "unit", unit)
        object.__setattr__(self, "rpm", tuple(speeds.tolist()))
        vacua = rising(vacuum, "the vacuum rows of a table", unit)
        object.__setattr__(self, "vacuum", tuple(vacua.tolist()))
        object.__setattr__(self, "degrees", degrees)


@dataclass(frozen=True, slots=True, init=False)
class BoostNodes:
    """A boost retard keyed in at fixed nodes.

    Attributes
    ----------
    unit : str
        Unit of pressure of the nodes, as `timing.units.convert` knows it.
    boost : tuple of float
        The nodes; the retard is 0 at the first. [`unit` above atmosphere]
    degrees : Steps
        What a node can hold, 0 among it. [degrees of crank taken away]
    """

    unit: str
    boost: tuple[float, ...]
    degrees: Steps

    def __init__(self, unit: str, boost: ArrayLike, degrees: Steps) -> None:
        _refuse_unknown_pressure(unit)
        nodes = rising(within(boost, "a boost node", low=0, unit=unit), "the boost nodes", unit)
        if not degrees.holds(0.0):
            raise UnitError("a boost retard must be able to be 0 degrees")
        object.__setattr__(self, "unit", unit)
        object.__setattr__(self, "boost", tuple(nodes.tolist()))
        object.__setattr__(self, "degrees", degrees)


def _decimals(figure: float) -> int:
    exponent = Decimal(repr(figure)).normalize().as_tuple().exponent
    return max(0, -int(exponent))


def _refuse_unknown_pressure(unit: str) -> None:
    if not isinstance(unit, str) or unit not in PASCALS:
        raise UnitError(f"{unit!r} is no unit of pressure known here: {', '.join(PASCALS)}")
