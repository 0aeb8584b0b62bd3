"""A measure: a canonical figure, and the unit it was read in, in which it is shown for ever."""

from dataclasses import dataclass
from math import ceil, floor, log10
from typing import Self

from garage.quantities.words import figure_text, plain
from timing.units import PASCALS, convert


@dataclass(frozen=True, slots=True)
class Quantity:
    """What is measured: the unit of the record, and the units a gauge in the workshop may show it in."""

    key: str
    label: str
    canonical: str
    units: tuple[str, ...]

    @classmethod
    def plain(cls, unit: str) -> Self:
        """A quantity that is read in one unit only, such as volts."""
        return cls("", unit, unit, (unit,))

    def understands(self, unit: str) -> bool:
        """Whether a figure in `unit` can be converted, be it among the units that are offered or not."""
        return unit == self.canonical or (self.canonical in PASCALS and unit in PASCALS and bool(self.key))

    def canonical_of(self, figure: float, unit: str) -> float:
        """Raises ValueError if `unit` is none of this quantity, TimingError if the figure is too large."""
        if not self.understands(unit):
            raise ValueError(f"{unit!r} is no unit of {self.label}: {', '.join(self.units)}")
        return figure if unit == self.canonical else float(convert(figure, unit, self.canonical))

    def in_unit(self, value: float, unit: str) -> float:
        """The canonical `value` in `unit`, with the errors of `canonical_of`."""
        if not self.understands(unit):
            raise ValueError(f"{unit!r} is no unit of {self.label}: {', '.join(self.units)}")
        return value if unit == self.canonical else float(convert(value, self.canonical, unit))

    def decimals_in(self, unit: str, decimals: int) -> int:
        """How many decimals in `unit` are as fine as `decimals` in the canonical one."""
        if unit == self.canonical:
            return decimals
        return max(0, decimals + ceil(log10(self.canonical_of(1.0, unit)) - 1e-9))

    def lowest_text(self, low: float, unit: str, decimals: int, *, exact: bool = True) -> str:
        """A lower limit as people read it in `unit`: what is shown is allowed, so that it is rounded up.

        An `exact` limit in the canonical unit is written whole, as its list or model has it.
        """
        return self._limit_text(low, unit, decimals, ceil, exact)

    def highest_text(self, high: float, unit: str, decimals: int, *, exact: bool = True) -> str:
        """An upper limit in `unit`, rounded down for the same reason."""
        return self._limit_text(high, unit, decimals, floor, exact)

    def _limit_text(self, value: float, unit: str, decimals: int, rounded, exact: bool) -> str:  # type: ignore[no-untyped-def]
        if unit == self.canonical and exact:
            return figure_text(value, decimals)
        places = self.decimals_in(unit, decimals)
        # The least noise of a conversion is no reason to go to the next digit.
        scaled = round(self.in_unit(value, unit) * 10**places, 6)
        return figure_text(rounded(scaled) / 10**places, places)


VACUUM = Quantity("vacuum", "vacuum", "kPa", ("kPa", "inHg", "mmHg", "mbar"))
PRESSURE = Quantity("pressure", "pressure", "kPa", ("kPa", "bar", "psi"))
QUANTITIES = {one.key: one for one in (VACUUM, PRESSURE)}


@dataclass(frozen=True, slots=True)
class Measure:
    """One figure of the record."""

    value: float  # in the canonical unit of its quantity
    unit: str  # as it was read
    quantity: Quantity

    @classmethod
    def read(cls, figure: float, unit: str, quantity: Quantity) -> Self:
        """`figure` as a gauge shows it in `unit`; errors as `Quantity.canonical_of`."""
        return cls(quantity.canonical_of(figure, unit), unit, quantity)

    @property
    def figure(self) -> float:
        """As it was read."""
        return self.quantity.in_unit(self.value, self.unit)

    @property
    def text(self) -> str:
        return f"{plain(round(self.figure, 9))} {self.unit}"
