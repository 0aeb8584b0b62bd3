"""The table of what can be found and the indexes of its words: a migration operation for SQLite and PostgreSQL.

SQLite has an FTS5 table for each room, PostgreSQL a GIN index for each over a text search vector. Both hold runs of
three letters, so that a piece of a number is found, and both find the same. No extension is asked for: an ordinary
user of a server may install none.
"""

from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation

TABLE = "garage_findable"
# What is looked through and listed apart: each has an index of its own, for a common word of one would bury another.
ROOMS = ("customers", "cars", "units", "jobs", "journal", "notes")


def is_part_of_the_index(table: str) -> bool:
    """Whether a table is the index or a part of it: made from the others, and so no part of the book."""
    return table.startswith(TABLE)


class LayFindable(Operation):
    """Make the table and its indexes, empty."""

    reversible = True
    reduces_to_sql = True
    atomic = True

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        return (type(self).__name__, [], {})

    def state_forwards(self, app_label: str, state: Any) -> None:
        """The index is no model: nothing reads it but `garage.finding.index`."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        is_sqlite = schema_editor.connection.vendor == "sqlite"
        for statement in _sqlite_index() if is_sqlite else _postgres_index(_server_knows_accents(schema_editor)):
            schema_editor.execute(statement, params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        is_sqlite = schema_editor.connection.vendor == "sqlite"
        for room in ROOMS if is_sqlite else ():
            schema_editor.execute(f"DROP TABLE {TABLE}_{room}", params=None)
        schema_editor.execute(f"DROP TABLE {TABLE}", params=None)
        if not is_sqlite:
            schema_editor.execute(f"DROP FUNCTION {TABLE}_runs(text)", params=None)

    def describe(self) -> str:
        return "Make the index of what can be found"


class LayNewestFirst(Operation):
    """On PostgreSQL an index of the newest rows for each room, in the place of one over all rooms.

    Over that the planner preferred the primary key, and walked past every newer row of the other rooms.
    """

    reversible = True
    reduces_to_sql = True
    atomic = True

    def deconstruct(self) -> tuple[str, list[Any], dict[str, Any]]:
        return (type(self).__name__, [], {})

    def state_forwards(self, app_label: str, state: Any) -> None:
        """No part of Django's picture of a model, as the table itself is not."""

    def database_forwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        if schema_editor.connection.vendor == "postgresql":
            schema_editor.execute(f"DROP INDEX {TABLE}_in_order", params=None)
            for room in ROOMS:
                statement = f"CREATE INDEX {TABLE}_{room}_newest ON {TABLE} (id) WHERE room = '{room}'"
                schema_editor.execute(statement, params=None)

    def database_backwards(
        self, app_label: str, schema_editor: BaseDatabaseSchemaEditor, from_state: Any, to_state: Any
    ) -> None:
        if schema_editor.connection.vendor == "postgresql":
            for room in ROOMS:
                schema_editor.execute(f"DROP INDEX {TABLE}_{room}_newest", params=None)
            schema_editor.execute(f"CREATE INDEX {TABLE}_in_order ON {TABLE} (room, id)", params=None)

    def describe(self) -> str:
        return "Index the newest rows of each room"


def _sqlite_index() -> list[str]:
    statements = [
        f"CREATE TABLE {TABLE} (id integer PRIMARY KEY AUTOINCREMENT, room text NOT NULL, kind text NOT NULL, "
        "thing text NOT NULL, words text NOT NULL, UNIQUE (kind, thing))"
    ]
    for room in ROOMS:
        index = f"{TABLE}_{room}"
        add = f"INSERT INTO {index} (rowid, words) VALUES (NEW.id, NEW.words);"
        remove = f"INSERT INTO {index} ({index}, rowid, words) VALUES ('delete', OLD.id, OLD.words);"
        statements += [
            f"CREATE VIRTUAL TABLE {index} USING fts5(words, content='{TABLE}', content_rowid='id', columnsize=0, "
            "tokenize='trigram remove_diacritics 1')",
            f"CREATE TRIGGER {index}_in AFTER INSERT ON {TABLE} WHEN NEW.room = '{room}' BEGIN {add} END",
            f"CREATE TRIGGER {index}_out AFTER DELETE ON {TABLE} WHEN OLD.room = '{room}' BEGIN {remove} END",
            f"CREATE TRIGGER {index}_changed AFTER UPDATE OF words ON {TABLE} WHEN NEW.room = '{room}' "
            f"BEGIN {remove} {add} END",
        ]
    return statements


def _server_knows_accents(schema_editor: BaseDatabaseSchemaEditor) -> bool:
    """Only where its text is Unicode can a server take letters apart; elsewhere an accent counts."""
    with schema_editor.connection.cursor() as cursor:
        cursor.execute("SELECT getdatabaseencoding()")
        return bool(cursor.fetchone() == ("UTF8",))


def _capitals() -> tuple[str, str]:
    """Letters beyond ASCII with a small form, and those forms: a server's own `lower` may know ASCII alone."""
    pairs = [
        (letter, letter.lower())
        for letter in map(chr, [*range(0xC0, 0x250), *range(0x370, 0x530)])
        if letter.lower() != letter and len(letter.lower()) == 1
    ]
    return "".join(capital for capital, _ in pairs), "".join(small for _, small in pairs)


def _postgres_index(knows_accents: bool) -> list[str]:
    folded = "lower(words)"
    if knows_accents:
        capitals, small = _capitals()
        bare = "regexp_replace(normalize(words, NFD), '[\\u0300-\\u036f]', '', 'g')"
        folded = f"translate(lower({bare}), '{capitals}', '{small}')"
    # Folded once, as it is written: what the index finds is looked at again, and of a common word that is much.
    runs = (
        "SELECT coalesce(array_to_tsvector(array_agg(DISTINCT run)), ''::tsvector) FROM ("
        "SELECT letter || lead(letter) OVER (ORDER BY place) || lead(letter, 2) OVER (ORDER BY place) AS run "
        "FROM unnest(string_to_array(folded, NULL)) WITH ORDINALITY AS letters (letter, place)"
        ") AS runs WHERE run IS NOT NULL"
    )
    # Its cost tells the planner to ask the index, and not to work the runs out of every row.
    function = "LANGUAGE sql IMMUTABLE PARALLEL SAFE COST 2000"
    return [
        f"CREATE TABLE {TABLE} (id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, room text NOT NULL, "
        "kind text NOT NULL, thing text NOT NULL, words text NOT NULL, "
        f"folded text GENERATED ALWAYS AS ({folded}) STORED, UNIQUE (kind, thing))",
        f"CREATE INDEX {TABLE}_in_order ON {TABLE} (room, id)",
        f"CREATE FUNCTION {TABLE}_runs(folded text) RETURNS tsvector {function} AS $$ {runs} $$",
        *(
            f"CREATE INDEX {TABLE}_{room} ON {TABLE} USING gin ({TABLE}_runs(folded)) WHERE room = '{room}'"
            for room in ROOMS
        ),
    ]
