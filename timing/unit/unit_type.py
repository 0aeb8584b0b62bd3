"""What one type of programmable unit can hold, as plain data, so that no maker is built in."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, TypeAlias, get_args

from numpy.typing import ArrayLike

from timing.errors import TimingError
from timing.ignition_map import REV_LIMIT_MANNERS, RevLimitManner
from timing.inputs import number, whole, within
from timing.lookup import rising
from timing.units import HIGHEST_BAROMETER_KPA, PASCALS, convert

CountedFrom: TypeAlias = Literal["base", "absolute"]
"""base: what is keyed in at a node is added to base timing; absolute: it holds the base already."""

EntryKey: TypeAlias = Literal[
    "base",
    "node_rpm",
    "node",
    "vacuum_start",
    "vacuum_full",
    "vacuum_degrees",
    "vacuum_from_rpm",
    "vacuum_cell",
    "boost_start",
    "boost_full",
    "boost_degrees",
    "boost_node",
    "dwell",
    "rev_limit",
    "rev_limit_manner",
    "repeated_sparks",
]

# Two figures closer than this share of a step are the same entry: the noise of a unit conversion.
_SAME_STEP = 1e-6


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
        if abs(places - round(places)) > _SAME_STEP:
            last = self.figure(math.floor(places))
            raise UnitError(
                f"{self.high:g} is not on a step of {self.step:g} from {self.low:g}: the last one is {last:g}"
            )

    def figure(self, place: int) -> float:
        """The figure `place` steps above the lowest, free of the noise of adding steps up."""
        exact = Decimal(repr(self.low)) + place * Decimal(repr(self.step))
        return float(exact)

    def holds(self, value: float) -> bool:
        """Whether the entry can be set to exactly `value`."""
        place = (value - self.low) / self.step
        return abs(place - round(place)) <= _SAME_STEP and 0 <= round(place) <= self._last

    def reaches(self, value: float) -> bool:
        """Whether `value` lies within the range, up to half a step outside it, so that rounding can bring it in."""
        return -0.5 - _SAME_STEP <= (value - self.low) / self.step <= self._last + 0.5 + _SAME_STEP

    def is_below(self, value: float, other: float) -> bool:
        """Whether `value` is less than `other` by more than the noise of a conversion."""
        return value < other - _SAME_STEP * self.step

    def figures(self) -> tuple[float, ...]:
        """Every figure the entry can be set to, rising."""
        return tuple(self.figure(place) for place in range(self._last + 1))

    def nearest(self, value: float) -> float:
        """The figure nearest to `value`; the lower of two equally near."""
        return self._at(value, lambda place: math.ceil(place - 0.5 - _SAME_STEP))

    def at_or_below(self, value: float) -> float:
        """The highest figure not above `value`, or the lowest there is."""
        return self._at(value, lambda place: math.floor(place + _SAME_STEP))

    def at_or_above(self, value: float) -> float:
        """The lowest figure not below `value`, or the highest there is."""
        return self._at(value, lambda place: math.ceil(place - _SAME_STEP))

    def text(self, value: float) -> str:
        """`value` with as many decimals as the entry has."""
        decimals = max(_decimals(self.low), _decimals(self.step))
        return f"{value + 0.0:.{decimals}f}"

    @property
    def _last(self) -> int:
        return round((self.high - self.low) / self.step)

    def _at(self, value: float, place_of: Callable[[float], int]) -> float:
        return self.figure(min(max(place_of((value - self.low) / self.step), 0), self._last))


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

    def __init__(self, unit: str, rpm: ArrayLike, vacuum: ArrayLike, degrees: Steps) -> None:
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


@dataclass(frozen=True, slots=True)
class EntryWord:
    """What the workshop calls one entry of the unit.

    Attributes
    ----------
    key : str
        Which entry: one of `EntryKey`. Keys that stand for several lines (`node`, `vacuum_cell`, `boost_node`) are
        followed on the sheet by the place of each.
    words : str
        The workshop's own words.
    choices : tuple of (value, words)
        For `rev_limit_manner` ('soft', 'hard') and `repeated_sparks` ('on', 'off'): what the unit shows for each.
    """

    key: EntryKey
    words: str
    choices: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if self.key not in get_args(EntryKey):
            raise UnitError(f"{self.key!r} is no entry known here")
        if not isinstance(self.words, str) or not self.words.strip():
            raise UnitError(f"the entry {self.key} needs words of its own")
        object.__setattr__(self, "choices", tuple((str(value), str(words)) for value, words in self.choices))
        possible = CHOICES.get(self.key, ())
        for value, words in self.choices:
            if value not in possible:
                raise UnitError(f"{value!r} is no choice of the entry {self.key}")
            if not words.strip():
                raise UnitError(f"the choice {value} of the entry {self.key} needs words of its own")

    def shown(self, value: str) -> str:
        """What the unit shows for the choice `value`."""
        return dict(self.choices).get(value, value)


CHOICES: Final = {"rev_limit_manner": REV_LIMIT_MANNERS, "repeated_sparks": ("on", "off")}
"""What an entry that is chosen, not counted, can be."""

_USUAL_WORDS: Final[dict[EntryKey, str]] = {
    "base": "base timing",
    "node_rpm": "node speed",
    "node": "node",
    "vacuum_start": "vacuum begins",
    "vacuum_full": "vacuum full",
    "vacuum_degrees": "vacuum advance",
    "vacuum_from_rpm": "vacuum from speed",
    "vacuum_cell": "vacuum cell",
    "boost_start": "boost begins",
    "boost_full": "boost full",
    "boost_degrees": "boost retard",
    "boost_node": "boost node",
    "dwell": "dwell",
    "rev_limit": "rev limit",
    "rev_limit_manner": "rev limit manner",
    "repeated_sparks": "repeated sparks",
}


@dataclass(frozen=True, slots=True)
class UnitType:
    """What one type of unit can hold, and in which order and words it is keyed in.

    Attributes
    ----------
    nodes : FixedNodes or FreeNodes
        Where the speed curve has its nodes.
    degree : Steps
        What a node can hold. [degrees of crank]
    counted_from : 'base' or 'absolute'
        Whether base timing is added to a node, or is in it already.
    base : Steps or None
        The entry for base timing; None where the unit is not told and the distributor alone is turned.
        [degrees of crank]
    vacuum : RampEntries, TableEntries or None
        The vacuum part, where there is one.
    boost : RampEntries, BoostNodes or None
        The boost retard, where there is one.
    dwell_ms : Steps or None
        The entry for dwell. [ms]
    rev_limit_rpm : Steps or None
        The entry for the rev limit. [rpm at the crank]
    rev_limit_manners : tuple of 'soft', 'hard'
        How the unit can limit; it is keyed in only where there are two.
    repeated_sparks : bool
        Whether repeated sparks while cranking can be switched on.
    entries : tuple of EntryWord
        Every entry the unit has, in keying order. Left empty, the usual words in the usual order.

    Raises
    ------
    UnitError
        If the parts contradict one another, or `entries` names one twice, leaves one out or has one too many.
    """

    nodes: FixedNodes | FreeNodes
    degree: Steps
    counted_from: CountedFrom = "base"
    base: Steps | None = None
    vacuum: RampEntries | TableEntries | None = None
    boost: RampEntries | BoostNodes | None = None
    dwell_ms: Steps | None = None
    rev_limit_rpm: Steps | None = None
    rev_limit_manners: tuple[RevLimitManner, ...] = ()
    repeated_sparks: bool = False
    entries: tuple[EntryWord, ...] = ()

    def __post_init__(self) -> None:
        if self.counted_from not in get_args(CountedFrom):
            raise UnitError(f"nodes are counted from the base or absolute, not {self.counted_from!r}")
        off = self.degree.low / self.degree.step
        if abs(off - round(off)) > _SAME_STEP:
            raise UnitError(
                f"the lowest node value, {self.degree.low:g}, is no multiple of the step of"
                f" {self.degree.step:g} degrees"
            )
        object.__setattr__(self, "rev_limit_manners", tuple(dict.fromkeys(self.rev_limit_manners)))
        for manner in self.rev_limit_manners:
            if manner not in REV_LIMIT_MANNERS:
                raise UnitError(f"a rev limit is soft or hard, not {manner!r}")
        if bool(self.rev_limit_manners) != (self.rev_limit_rpm is not None):
            raise UnitError("a unit with a rev limit says whether it is soft or hard, and one without says neither")
        if self.vacuum is not None:
            most = self.vacuum.full.high if isinstance(self.vacuum, RampEntries) else self.vacuum.vacuum[-1]
            within(convert(most, self.vacuum.unit, "kPa"), "a vacuum entry", high=HIGHEST_BAROMETER_KPA, unit="kPa")
        asked = self._asked()
        if not self.entries:
            object.__setattr__(self, "entries", tuple(EntryWord(key, _USUAL_WORDS[key]) for key in asked))
        object.__setattr__(self, "entries", tuple(self.entries))
        self._refuse_unfit_entries(asked)

    def word(self, key: EntryKey) -> EntryWord:
        """The workshop's word for the entry `key`.

        Raises
        ------
        UnitError
            If the unit has no such entry.
        """
        for entry in self.entries:
            if entry.key == key:
                return entry
        raise UnitError(f"this unit has no entry {key}")

    def _asked(self) -> list[EntryKey]:
        """The keys of every entry the unit has, in the usual order."""
        asked: list[EntryKey] = []
        if self.base is not None:
            asked.append("base")
        asked += ["node_rpm", "node"] if isinstance(self.nodes, FreeNodes) else ["node"]
        if isinstance(self.vacuum, RampEntries):
            asked += ["vacuum_start", "vacuum_full", "vacuum_degrees"]
            if self.vacuum.from_rpm is not None:
                asked.append("vacuum_from_rpm")
        elif self.vacuum is not None:
            asked.append("vacuum_cell")
        if isinstance(self.boost, RampEntries):
            if self.boost.from_rpm is not None:
                raise UnitError("a boost retard has no lowest speed")
            asked += ["boost_start", "boost_full", "boost_degrees"]
        elif self.boost is not None:
            asked.append("boost_node")
        if self.dwell_ms is not None:
            asked.append("dwell")
        if self.rev_limit_rpm is not None:
            asked.append("rev_limit")
        if len(self.rev_limit_manners) > 1:
            asked.append("rev_limit_manner")
        if self.repeated_sparks:
            asked.append("repeated_sparks")
        return asked

    def _refuse_unfit_entries(self, asked: list[EntryKey]) -> None:
        named = [entry.key for entry in self.entries]
        twice = sorted({key for key in named if named.count(key) > 1})
        if twice:
            raise UnitError(f"keyed in twice: {', '.join(twice)}")
        missing = [key for key in asked if key not in named]
        if missing:
            raise UnitError(f"the keying order leaves out {', '.join(missing)}")
        unknown = [key for key in named if key not in asked]
        if unknown:
            raise UnitError(f"the keying order has entries this unit does not hold: {', '.join(unknown)}")


def _decimals(figure: float) -> int:
    exponent = Decimal(repr(figure)).normalize().as_tuple().exponent
    return max(0, -int(exponent))


def _refuse_unknown_pressure(unit: str) -> None:
    if unit not in PASCALS:
        raise UnitError(f"{unit!r} is no unit of pressure known here: {', '.join(PASCALS)}")
