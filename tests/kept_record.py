"""The triggers that keep the record, seen from the tests."""

from django.db import connection


def triggers_lifted() -> None:
    """Drop the triggers against deletion for the rest of this test run (SQLite empties tables row by row)."""
    if connection.vendor != "sqlite":
        return  # PostgreSQL truncates, which fires no row trigger
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%kept_delete'")
        for (name,) in cursor.fetchall():
            cursor.execute(f"DROP TRIGGER {name}")
