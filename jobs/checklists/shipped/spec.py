"""How a check-list is written down in Python: a list of sections, each a list of items."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from garage.quantities.measure import QUANTITIES
from garage.quantities.words import plain
from jobs.checklists.car_facts import misfit
from jobs.checklists.models import ItemKind, SheetKind

Rule = Mapping[str, list[str | int | bool]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of a list. The fields are those of `ChecklistItem`; `applies` is a rule of `jobs.checklists.applies`."""

    key: str
    kind: ItemKind
    text: str
    help: str = ""
    caution: str = ""
    source: str = ""
    unit: str = ""
    quantity: str = ""
    correction: str = ""
    low: float | None = None
    high: float | None = None
    note_above: float | None = None
    note_text: str = ""
    decimals: int = 1
    choices: tuple[str, ...] = ()
    good_choices: tuple[str, ...] = ()
    required: bool = True
    second_person: bool = False
    hold_point: bool = False
    reader: str = ""
    car_fact: str = ""
    inspection_key: str = ""
    applies: Rule | None = None

    def __post_init__(self) -> None:
        measured = self.low is not None or self.high is not None
        if measured and self.kind != ItemKind.MEASURE:
            raise ValueError(f"{self.key}: only a measure has limits")
        if self.kind == ItemKind.MEASURE and not self.unit:
            raise ValueError(f"{self.key}: a measure needs its unit")
        if self.quantity and (self.quantity not in QUANTITIES or self.unit != QUANTITIES[self.quantity].canonical):
            raise ValueError(f"{self.key}: the lists that come along are written in canonical units")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"{self.key}: low {plain(self.low)} is above high {plain(self.high)}")
        if (self.kind == ItemKind.CHOICE) != bool(self.choices):
            raise ValueError(f"{self.key}: a choice, and only a choice, has choices")
        if (self.note_above is None) != (not self.note_text):
            raise ValueError(f"{self.key}: a note needs its figure and its words")
        if (self.kind == ItemKind.READING) != bool(self.reader):
            raise ValueError(f"{self.key}: a reading, and only a reading, has a reader")
        if self.kind == ItemKind.READING and self.second_person:
            raise ValueError(f"{self.key}: what is read from the record is confirmed where it is read")
        if trouble := misfit(self.car_fact, self.kind, self.choices):
            raise ValueError(f"{self.key}: {trouble}")
        if not set(self.good_choices) <= set(self.choices):
            raise ValueError(f"{self.key}: a good choice is not among the choices")


@dataclass(frozen=True, slots=True)
class Section:
    title: str
    items: tuple[Item, ...]

    def picked(self, *keys: str) -> tuple[Item, ...]:
        """The items of these keys, in the order of the section: for a shorter list that asks the same."""
        missing = set(keys) - {item.key for item in self.items}
        if missing:
            raise ValueError(f"{self.title}: no item {', '.join(sorted(missing))}")
        return tuple(item for item in self.items if item.key in keys)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShippedList:
    """A whole list. `key` never changes, so that a later edition finds the workshop's list under whatever name."""

    key: str
    name: str
    kind: SheetKind
    sections: tuple[Section, ...]
    suits: Rule | None = None

    def __post_init__(self) -> None:
        keys = [item.key for item in self.items]
        twice = sorted({key for key in keys if keys.count(key) > 1})
        if twice:
            raise ValueError(f"{self.name}: {', '.join(twice)} stands there twice")

    @property
    def items(self) -> list[Item]:
        return [item for section in self.sections for item in section.items]

    def rows(self) -> list[dict[str, Any]]:
        """The columns of every `ChecklistItem`, in order."""
        return [
            {
                **asdict(item),
                "kind": item.kind.value,
                "choices": list(item.choices),
                "good_choices": list(item.good_choices),
                "applies": dict(item.applies or {}),
                "section": section.title,
            }
            for section in self.sections
            for item in section.items
        ]

    def fingerprint(self) -> str:
        """Changes when any word of the list does."""
        return hashlib.sha256(json.dumps(self.rows(), sort_keys=True).encode()).hexdigest()


def tick(key: str, text: str, **more: Any) -> Item:
    return Item(key=key, kind=ItemKind.TICK, text=text, **more)


def measure(key: str, text: str, unit: str, low: float | None, high: float | None, **more: Any) -> Item:
    return Item(key=key, kind=ItemKind.MEASURE, text=text, unit=unit, low=low, high=high, **more)


def choice(key: str, text: str, choices: list[str], good: list[str] | None = None, **more: Any) -> Item:
    """`good` are the choices in tolerance; none named: all are."""
    return Item(
        key=key, kind=ItemKind.CHOICE, text=text, choices=tuple(choices), good_choices=tuple(good or ()), **more
    )


def photo(key: str, text: str, **more: Any) -> Item:
    return Item(key=key, kind=ItemKind.PHOTO, text=text, **more)


def words(key: str, text: str, **more: Any) -> Item:
    return Item(key=key, kind=ItemKind.TEXT, text=text, **more)


def reading(key: str, text: str, reader: str, **more: Any) -> Item:
    """Read from the record by `reader` (jobs.checklists.readers): nobody ticks it."""
    return Item(key=key, kind=ItemKind.READING, text=text, reader=reader, **more)
