"""What one type of programmable unit can hold, as plain data, so that no maker is built in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias, get_args

from timing.ignition_map import REV_LIMIT_MANNERS, RevLimitManner
from timing.inputs import within
from timing.unit.entries import (
    SAME_STEP,
    BoostNodes,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitError,
)
from timing.units import HIGHEST_BAROMETER_KPA, convert

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
    takes_delay : bool
        Whether it can be told the delay of its own spark. No part of a map: it is set where the strobe shows it.
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
    takes_delay: bool = False
    entries: tuple[EntryWord, ...] = ()

    def __post_init__(self) -> None:
        if self.counted_from not in get_args(CountedFrom):
            raise UnitError(f"nodes are counted from the base or absolute, not {self.counted_from!r}")
        off = self.degree.low / self.degree.step
        if abs(off - round(off)) > SAME_STEP:
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
