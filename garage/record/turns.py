"""Whose turn it is to write, where a database has one lock for everybody.

SQLite lets waiting writers try again after a while, each by itself: with many of them some are passed over for seconds.
The kernel lets those that wait for a file's lock have it in their order, and wakes them instead of letting them ask.
"""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import connection

FILE = "turn-to-write"


@contextmanager
def turn_to_write() -> Iterator[None]:
    """Wait for one's turn, for a short transaction that is begun inside. With a process that dies its turn ends.

    PostgreSQL needs none: it locks rows, and keeps their order itself. Whoever is in a transaction has the lock already
    and must not wait for others who wait for it.
    """
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        yield
        return
    with (settings.DATA_DIR / FILE).open("ab") as place:
        fcntl.flock(place, fcntl.LOCK_EX)
        yield
