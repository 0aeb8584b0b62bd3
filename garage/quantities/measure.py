"""A measure: a canonical figure, and the unit it was read in, in which it is shown for ever."""

from collections.abc import Callable
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

    def decimals_in(self, unit: str, decimals: int, of: str = "") -> int:
        """How many decimals in `unit` are as fine as `decimals` in `of`, the canonical unit if none is named."""
        grain = self.canonical_of(1.0, unit) / self.canonical_of(1.0, of or self.canonical)
        return max(0, decimals + ceil(log10(grain) - 1e-9))

    def lowest_text(self, low: float, unit: str, decimals: int) -> str:
        """A lower limit in `unit` with `decimals`, rounded up: what is shown is allowed."""
        return self._rounded(low, unit, decimals, ceil)

    def highest_text(self, high: float, unit: str, decimals: int) -> str:
        """An upper limit in `unit` with `decimals`, rounded down for the same reason."""
        return self._rounded(high, unit, decimals, floor)

    def _rounded(self, value: float, unit: str, decimals: int, to_whole: Callable[[float], int]) -> str:
        # The noise of a conversion is no reason to go to the next digit.
        scaled = round(self.in_unit(value, unit) * 10**decimals, 6)
        return figure_text(to_whole(scaled) / 10**decimals, decimals)


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
