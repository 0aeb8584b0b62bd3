"""What comes due by itself. Rooms above name it at the start; each worker asks, and the key lets one of them win."""

from collections.abc import Callable
from datetime import datetime

PutsIn = Callable[[datetime], object]
_asked: list[PutsIn] = []


def install(*puts_in: PutsIn) -> None:
    """Have each of `puts_in` asked every few seconds, with the time: it puts in what is due by then."""
    _asked.extend(each for each in puts_in if each not in _asked)


def put_in_what_is_due(now: datetime) -> None:
    for puts_in in _asked:
        puts_in(now)
