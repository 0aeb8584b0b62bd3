"""What is said of an item: an entry of the record, or what is found when the item is read again."""

from dataclasses import dataclass
from typing import Protocol


class Answered(Protocol):
    """What a verdict and the words for it need of an answer; the figure in the canonical unit of the item."""

    @property
    def outcome(self) -> str: ...
    @property
    def measure(self) -> float | None: ...
    @property
    def unit(self) -> str: ...
    @property
    def beside(self) -> float | None: ...
    @property
    def altitude_m(self) -> float | None: ...
    @property
    def choice(self) -> str: ...
    @property
    def text(self) -> str: ...
    @property
    def note(self) -> str: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class SeenAgain:
    """What is found when an item is read again: no entry of its own."""

    outcome: str = "done"
    measure: float | None = None
    unit: str = ""
    beside: float | None = None
    altitude_m: float | None = None
    choice: str = ""
    text: str = ""
    note: str = ""
