"""The index of words, kept by the database itself: a migration operation for SQLite and PostgreSQL.

Triggers and no calls in the actions, for words enter and leave by many ways: actions, an erasing, a book that is
brought in or moved, a migration, a hand on the console. What is written is found, and what is erased is not, in the
same transaction. A trigger writes what its own row says and asks no other table, so that a migration may rebuild any
table. SQLite loses a table's triggers when it does: repeat `KeepFindable` there, as `KeepForEver` is (a test looks
after both).
"""

from collections.abc import Sequence
from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation

from garage.finding.layout import TABLE
from garage.finding.words import SEPARATORS

AT_ONCE = 12  # separators replaced in one expression


class KeepFindable(Operation):
    """Keep what the rows of `table` say in the index.

    `words` are columns of words, `numbers` those of a number that may be typed without its separators. `kind` names
    what a row is, `room` where it is listed. `when` is SQL that both databases understand, about `{row}`: a row for
    which it does not hold is not found. Rows that are there already are put in.
    """

    reversible = True
    reduces_to_sql = True
    atomic = True

    def __init__(
        self,
        table: str,
        *,
        room: str,
        kind: str,
        words: Sequence[str] = (),
        numbers: Sequence[str] = (),
        when: str = "",
    ) -> None:
        self.table, self.room, self.kind = table, room, kind
        self.words, self.numbers, self.when = tuple(words), tuple(numbers), when

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        named = {"words": self.words, "numbers": self.numbers, "when": self.when}
        given = {name: value for name, value in named.items() if value}
        return (type(self).__name__, [self.table], {"room": self.room, "kind": self.kind, **given})

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Triggers are no part of Django's picture of a model."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        vendor = schema_editor.connection.vendor
        laid = self._sqlite_triggers() if vendor == "sqlite" else self._postgres_triggers()
        for statement in [*self._removal(vendor), *laid, *self.refill()]:
            schema_editor.execute(statement, params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        vendor = schema_editor.connection.vendor
        function = [f"DROP FUNCTION IF EXISTS {self.table}_findable()"] if vendor == "postgresql" else []
        for statement in [*self._removal(vendor), *function, self._emptied()]:
            schema_editor.execute(statement, params=None)

    def describe(self) -> str:
        return f"Keep what {self.table} says in the index"

    @property
    def triggers(self) -> list[str]:
        return [f"{self.table}_findable_{operation}" for operation in ("insert", "update", "delete")]

    def refill(self) -> list[str]:
        """What puts every row of the table in afresh."""
        return [self._emptied(), self._put_in(self.table, f" FROM {self.table}")]

    def differing(self) -> str:
        """The question how many rows of the index are missing, left over, or say something else than the table."""
        told = (
            f"SELECT CAST(id AS text) AS thing, {self._said(self.table)} AS words FROM {self.table} "
            f"WHERE {self._counts(self.table)}"
        )
        kept = f"SELECT thing, words FROM {TABLE} WHERE kind = '{self.kind}'"
        lost, stray = (
            f"SELECT * FROM ({a}) AS a EXCEPT SELECT * FROM ({b}) AS b" for a, b in ((told, kept), (kept, told))
        )
        return f"SELECT (SELECT count(*) FROM ({lost}) AS lost) + (SELECT count(*) FROM ({stray}) AS stray)"

    def _said(self, row: str) -> str:
        """The words of `row`, a space around each; numbers once more without their separators."""
        together = " || ' ' || ".join(f"coalesce({row}.{name}, '')" for name in [*self.words, *self.numbers])
        parts = [_with(together, " "), *(_with(f"coalesce({row}.{name}, '')", "") for name in self.numbers)]
        return "' ' || " + " || ' ' || ".join(parts) + " || ' '"

    def _counts(self, row: str) -> str:
        """Whether `row` is to be found: it says anything at all."""
        condition = f" AND ({self.when.format(row=row)})" if self.when else ""
        return f"trim({self._said(row)}) <> ''{condition}"

    def _emptied(self) -> str:
        return f"DELETE FROM {TABLE} WHERE kind = '{self.kind}'"

    def _taken_out(self, row: str) -> str:
        return f"DELETE FROM {TABLE} WHERE kind = '{self.kind}' AND thing = CAST({row}.id AS text)"

    def _put_in(self, row: str, source: str = "") -> str:
        return (
            f"INSERT INTO {TABLE} (room, kind, thing, words) "
            f"SELECT '{self.room}', '{self.kind}', CAST({row}.id AS text), {self._said(row)}{source} "
            f"WHERE {self._counts(row)} ON CONFLICT (kind, thing) DO UPDATE SET words = excluded.words "
            f"WHERE {TABLE}.words <> excluded.words"
        )

    def _changed(self) -> list[str]:
        return [f"{self._taken_out('NEW')} AND NOT ({self._counts('NEW')})", self._put_in("NEW")]

    def _removal(self, vendor: str) -> list[str]:
        on_table = f" ON {self.table}" if vendor == "postgresql" else ""
        return [f"DROP TRIGGER IF EXISTS {trigger}{on_table}" for trigger in self.triggers]

    def _sqlite_triggers(self) -> list[str]:
        done = {
            "INSERT": [self._put_in("NEW")],
            "UPDATE": self._changed(),
            "DELETE": [self._taken_out("OLD")],
        }
        return [
            f"CREATE TRIGGER {trigger} AFTER {operation} ON {self.table} BEGIN {'; '.join(statements)}; END"
            for trigger, (operation, statements) in zip(self.triggers, done.items(), strict=True)
        ]

    def _postgres_triggers(self) -> list[str]:
        function = f"{self.table}_findable"
        return [
            f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger AS $$ BEGIN "
            f"IF TG_OP = 'DELETE' THEN {self._taken_out('OLD')}; RETURN NULL; END IF; "
            f"{'; '.join(self._changed())}; RETURN NULL; END $$ LANGUAGE plpgsql",
            *(
                f"CREATE TRIGGER {trigger} AFTER {operation} ON {self.table} FOR EACH ROW EXECUTE FUNCTION {function}()"
                for trigger, operation in zip(self.triggers, ("INSERT", "UPDATE", "DELETE"), strict=True)
            ),
        ]


def _with(said: str, instead: str) -> str:
    """SQL that has `instead` for every separator in `said`.

    A few at a time, each handful in a query of its own: a SQLite before 3.46 has room for some twenty calls inside one
    another, and could not open the book at all, to restore it or to look into it.
    """
    wanted = [separator for separator in SEPARATORS if separator != instead]
    for start in range(0, len(wanted), AT_ONCE):
        named = "said" if start else said
        replaced = _replaced(named, wanted[start : start + AT_ONCE], instead)
        said = f"(SELECT {replaced} FROM (SELECT {said} AS said) AS before)" if start else replaced
    return said


def _replaced(said: str, separators: Sequence[str], instead: str) -> str:
    for separator in separators:
        literal = separator.replace("'", "''")
        said = f"replace({said}, '{literal}', '{instead}')"
    return said
