"""Django's SQLite backend, on which whoever writes takes a turn.

SQLite has one lock for everybody who writes. It lets those that wait for it try again after a while, each by itself and
less and less often: with many of them some are passed over for seconds. The kernel lets those that wait for a file's
lock have it in their order, and wakes them instead of letting them ask. So each transaction, and each statement that
writes outside of one, waits for the file first and finds SQLite's own lock free.
"""

import fcntl
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.db.backends.sqlite3 import base

FILE = "turn-to-write"
_WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")


class Turn:
    """The turn of one connection. With a process that dies its turn ends."""

    def __init__(self, place: Path) -> None:
        self._place = place
        self._held: IO[bytes] | None = None

    @property
    def is_mine(self) -> bool:
        return self._held is not None

    def take(self) -> None:
        # Opened each time: a file that a forked process shares would be one turn for both.
        held = self._place.open("ab")
        try:
            fcntl.flock(held, fcntl.LOCK_EX)
        except BaseException:
            held.close()
            raise
        self._held = held

    def give_back(self) -> None:
        if self._held is not None:
            self._held.close()
            self._held = None


class CursorInTurn(base.SQLiteCursorWrapper):
    """A cursor whose writes outside of a transaction, each one of its own, wait for their turn too."""

    turn: Turn | None = None

    def execute(self, query: Any, params: Any = None) -> Any:
        if self._needs_no_turn(query):
            return super().execute(query, params)
        return self._in_turn(lambda: super(CursorInTurn, self).execute(query, params))

    def executemany(self, query: Any, param_list: Any) -> Any:
        if self._needs_no_turn(query):
            return super().executemany(query, param_list)
        return self._in_turn(lambda: super(CursorInTurn, self).executemany(query, param_list))

    def _needs_no_turn(self, query: str) -> bool:
        return self.turn is None or self.turn.is_mine or not query.lstrip()[:7].upper().startswith(_WRITES)

    def _in_turn(self, write: Any) -> Any:
        assert self.turn is not None  # noqa: S101 - asked just before
        self.turn.take()
        try:
            return write()
        finally:
            self.turn.give_back()


class DatabaseWrapper(base.DatabaseWrapper):
    """The workshop's book in the data folder is written in turns; any other file, such as a copy, as Django does."""

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **named)
        self._turn: Turn | None = None

    def get_connection_params(self) -> Any:
        name = Path(str(self.settings_dict["NAME"]))
        self._turn = Turn(name.with_name(FILE)) if name.parent == settings.DATA_DIR else None
        return super().get_connection_params()

    def create_cursor(self, name: Any = None) -> Any:
        cursor = self.connection.cursor(factory=CursorInTurn)
        cursor.turn = self._turn
        return cursor

    def _start_transaction_under_autocommit(self) -> None:
        if self._turn is None or self._turn.is_mine:
            return super()._start_transaction_under_autocommit()  # type: ignore[misc]
        self._turn.take()
        try:
            super()._start_transaction_under_autocommit()  # type: ignore[misc]
        except BaseException:
            self._turn.give_back()
            raise
        return None

    def _commit(self) -> Any:
        try:
            return super()._commit()  # type: ignore[misc]
        finally:
            self._after_a_transaction()

    def _rollback(self) -> Any:
        try:
            return super()._rollback()  # type: ignore[misc]
        finally:
            self._after_a_transaction()

    def _close(self) -> Any:
        try:
            return super()._close()  # type: ignore[misc]
        finally:
            if self._turn is not None:
                self._turn.give_back()

    def _after_a_transaction(self) -> None:
        """A commit that failed leaves the transaction, and the turn, until it is rolled back."""
        if self._turn is not None and not (self.connection is not None and self.connection.in_transaction):
            self._turn.give_back()
