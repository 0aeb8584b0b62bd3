"""The triggers that keep the record, seen from the tests."""

from django.db import connection

from garage.finding.layout import TABLE as INDEX


def triggers_lifted() -> list[str]:
    """Drop the triggers against deletion (SQLite empties tables row by row), and say how each is laid again."""
    if connection.vendor != "sqlite":
        return []  # PostgreSQL truncates, which fires no row trigger
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%kept_delete'")
        lifted = cursor.fetchall()
        for name, _ in lifted:
            cursor.execute(f"DROP TRIGGER {name}")
    return [sql for _, sql in lifted]


def triggers_laid(lifted: list[str]) -> None:
    with connection.cursor() as cursor:
        for sql in lifted:
            cursor.execute(sql)


def search_emptied() -> None:
    """PostgreSQL's truncating fires no trigger that would empty the index, and the index is no model's table."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"TRUNCATE {INDEX}")
