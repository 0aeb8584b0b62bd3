"""What an item of the kind 'reading' reads: the ground knows no room, the roof (`jobs.board.readers`) names them all.

Such an item is done once the readings it speaks of stand in the record. Nobody ticks it.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from jobs.job.models import Job


@dataclass(frozen=True, slots=True)
class Found:
    """What a reader finds in the record of a job.

    `text` says what was read, or what is missing. `url` is the page where the readings are taken, `link` the words of
    the way there. `passes` is False where the readings are there and fail their limit. `by` and `at` are of the last
    reading, of those there are.
    """

    is_done: bool
    text: str
    url: str
    link: str
    passes: bool = True
    by: str = ""
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Reader:
    """One thing that a room can answer for. `key` is stored in the lists, `label` is for who writes one."""

    key: str
    label: str
    read: Callable[[Job], Found]


# Filled by `install` when Django starts.
_readers: dict[str, Reader] = {}


def install(readers: Iterable[Reader]) -> None:
    """Name what can be read.

    Raises
    ------
    LookupError
        If two readers have one key.
    """
    made: dict[str, Reader] = {}
    for reader in readers:
        if reader.key in made:
            raise LookupError(f"two readers are called {reader.key}")
        made[reader.key] = reader
    _readers.update(made)


def readers() -> list[Reader]:
    """All there are, by their labels."""
    return sorted(_readers.values(), key=lambda reader: reader.label)


def read(key: str, job: Job) -> Found:
    """What the reader `key` finds for `job`.

    A list may name a reader that this release does not have: nothing is read then, and the item stays open.
    """
    reader = _readers.get(key)
    if reader is None:
        return Found(is_done=False, text="Nothing answers for this item. Correct the list.", url="", link="")
    return reader.read(job)
