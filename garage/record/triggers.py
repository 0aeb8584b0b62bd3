"""Rows that the database itself refuses to change or delete: a migration operation for SQLite and PostgreSQL.

A check constraint looks at one state of a row; 'never changes' is about two. Only a trigger can hold it against every
hand, a slip in our own code included. SQLite loses a table's triggers when a later migration rebuilds that table:
repeat the operation there (a test looks whether every table of the record has its triggers).
"""

from collections.abc import Sequence
from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation

OPERATIONS = ("UPDATE", "DELETE")
# Whether a person is being erased, as the connection that does it sees it.
OPEN = "EXISTS (SELECT 1 FROM garage_openerasing)"


class KeepForEver(Operation):
    """Refuse changes to and deletions of the rows of `table` for which `when` holds.

    `when` is SQL that both databases understand, about `OLD`. None: every row. `erasable` are the columns of words that
    may name a person: only they, and only while a person is erased (`garage.record.erasing`), may change.
    """

    reversible = True
    reduces_to_sql = True
    atomic = True

    def __init__(self, table: str, when: str | None = None, erasable: Sequence[str] = ()) -> None:
        self.table, self.when, self.erasable = table, when, tuple(erasable)

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        named = {"when": self.when, "erasable": self.erasable}
        return (type(self).__name__, [self.table], {name: value for name, value in named.items() if value})

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Triggers are no part of Django's picture of a model."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        # Laid again after a table was rebuilt, on the database that kept its triggers, too.
        for statement in [
            *self.removal(schema_editor.connection.vendor),
            *self.statements(schema_editor.connection.vendor, self._kept_columns(to_state)),
        ]:
            schema_editor.execute(statement, params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        for statement in self.removal(schema_editor.connection.vendor):
            schema_editor.execute(statement, params=None)

    def describe(self) -> str:
        return f"Keep the rows of {self.table} for ever"

    def _kept_columns(self, to_state: Any) -> list[str]:
        """Every column that not even erasing changes."""
        if not self.erasable:
            return []
        model = next(model for model in to_state.apps.get_models() if model._meta.db_table == self.table)
        columns = [field.column for field in model._meta.local_concrete_fields]
        if unknown := set(self.erasable) - set(columns):
            raise ValueError(f"{self.table} has no {', '.join(sorted(unknown))}")
        return [column for column in columns if column not in self.erasable]

    def removal(self, vendor: str) -> list[str]:
        on_table = f" ON {self.table}" if vendor == "postgresql" else ""
        return [f"DROP TRIGGER IF EXISTS {trigger_name(self.table, operation)}{on_table}" for operation in OPERATIONS]

    def statements(self, vendor: str, kept: Sequence[str] = ()) -> list[str]:
        refusal = f"the record of {self.table} is kept for ever"
        if vendor == "sqlite":
            same = " AND ".join(f'OLD."{column}" IS NEW."{column}"' for column in kept)
            conditions = {
                "UPDATE": [self.when, f"NOT ({OPEN} AND {same})" if self.erasable else None],
                "DELETE": [self.when],
            }
            return [
                f"CREATE TRIGGER {trigger_name(self.table, operation)} BEFORE {operation} ON {self.table} "
                f"{_when(conditions[operation])} BEGIN SELECT RAISE(ABORT, '{refusal}'); END"
                for operation in OPERATIONS
            ]
        function = f"{self.table}_kept"
        passes = "FALSE"
        if self.erasable:
            words = "ARRAY[" + ", ".join(f"'{column}'" for column in self.erasable) + "]"
            passes = f"TG_OP = 'UPDATE' AND {OPEN} AND (to_jsonb(OLD) - {words}) = (to_jsonb(NEW) - {words})"
        statements = [
            f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger AS $$ BEGIN "
            f"IF ({self.when or 'TRUE'}) AND NOT ({passes}) THEN "
            f"RAISE EXCEPTION '{refusal}' USING ERRCODE = '23000'; END IF; "
            "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END $$ LANGUAGE plpgsql"
        ]
        statements += [
            f"CREATE TRIGGER {trigger_name(self.table, operation)} BEFORE {operation} ON {self.table} "
            f"FOR EACH ROW EXECUTE FUNCTION {function}()"
            for operation in OPERATIONS
        ]
        return statements


def _when(conditions: Sequence[str | None]) -> str:
    joined = " AND ".join(f"({condition})" for condition in conditions if condition)
    return f"WHEN {joined}" if joined else ""


class LetChange(KeepForEver):
    """Let go of the rows of `table` until `KeepForEver` is repeated: for a migration that fills a new column of theirs.

    SQLite forgets the triggers when the column is added, PostgreSQL does not.
    """

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        super().database_backwards(app_label, schema_editor, from_state, to_state)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        super().database_forwards(app_label, schema_editor, from_state, to_state)

    def describe(self) -> str:
        return f"Let the rows of {self.table} be changed by this migration"


def trigger_name(table: str, operation: str) -> str:
    return f"{table}_kept_{operation.lower()}"
