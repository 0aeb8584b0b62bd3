"""What comes due by itself. Rooms above name it at the start; each worker asks, and the key lets one of them win."""

from collections.abc import Callable
from datetime import datetime, timedelta

PutsIn = Callable[[datetime], object]
_asked: dict[PutsIn, timedelta] = {}
_last_asked: dict[PutsIn, datetime] = {}


def install(*puts_in: PutsIn, every: timedelta = timedelta(0)) -> None:
    """Have each of `puts_in` asked every few seconds, with the time: it puts in what is due by then.

    What looks through more than a few rows is asked `every` so often by each worker.
    """
    _asked.update(dict.fromkeys(puts_in, every))


def put_in_what_is_due(now: datetime) -> None:
    for puts_in, every in _asked.items():
        last = _last_asked.get(puts_in)
        # a clock that was put back must not keep it waiting
        if last is None or not timedelta(0) <= now - last < every:
            _last_asked[puts_in] = now
            puts_in(now)
