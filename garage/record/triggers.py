"""Rows that the database itself refuses to change or delete: a migration operation for SQLite and PostgreSQL.

A check constraint looks at one state of a row; 'never changes' is about two. Only a trigger can hold it against every
hand, a slip in our own code included. SQLite loses a table's triggers when a later migration rebuilds that table:
repeat the operation there (a test looks whether every table of the record has its triggers).
"""

from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation

OPERATIONS = ("UPDATE", "DELETE")


class KeepForEver(Operation):
    """Refuse changes to and deletions of the rows of `table` for which `when` holds.

    `when` is SQL that both databases understand, about `OLD`. None: every row.
    """

    reversible = True
    reduces_to_sql = True
    atomic = True

    def __init__(self, table: str, when: str | None = None) -> None:
        self.table, self.when = table, when

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        return (type(self).__name__, [self.table], {"when": self.when} if self.when else {})

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Triggers are no part of Django's picture of a model."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        # Laid again after a table was rebuilt, on the database that kept its triggers, too.
        for statement in [
            *self.removal(schema_editor.connection.vendor),
            *self.statements(schema_editor.connection.vendor),
        ]:
            schema_editor.execute(statement, params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        for statement in self.removal(schema_editor.connection.vendor):
            schema_editor.execute(statement, params=None)

    def describe(self) -> str:
        return f"Keep the rows of {self.table} for ever"

    def removal(self, vendor: str) -> list[str]:
        on_table = f" ON {self.table}" if vendor == "postgresql" else ""
        return [f"DROP TRIGGER IF EXISTS {trigger_name(self.table, operation)}{on_table}" for operation in OPERATIONS]

    def statements(self, vendor: str) -> list[str]:
        refusal = f"the record of {self.table} is kept for ever"
        if vendor == "sqlite":
            condition = f"WHEN {self.when}" if self.when else ""
            return [
                f"CREATE TRIGGER {trigger_name(self.table, operation)} BEFORE {operation} ON {self.table} {condition} "
                f"BEGIN SELECT RAISE(ABORT, '{refusal}'); END"
                for operation in OPERATIONS
            ]
        function = f"{self.table}_kept"
        statements = [
            f"CREATE OR REPLACE FUNCTION {function}() RETURNS trigger AS $$ BEGIN "
            f"IF {self.when or 'TRUE'} THEN RAISE EXCEPTION '{refusal}' USING ERRCODE = '23000'; END IF; "
            "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END $$ LANGUAGE plpgsql"
        ]
        statements += [
            f"CREATE TRIGGER {trigger_name(self.table, operation)} BEFORE {operation} ON {self.table} "
            f"FOR EACH ROW EXECUTE FUNCTION {function}()"
            for operation in OPERATIONS
        ]
        return statements


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
