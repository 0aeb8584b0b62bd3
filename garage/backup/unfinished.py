"""A database of PostgreSQL while it is being filled, by a restore or a move: empty before, whole after, else marked.

The mark is a table. It stands there from the first step to the last, and `serve` opens no workshop on a database that
has it (`garage/site/damage.py`). Whoever was killed half way leaves the mark behind, so that the next one may empty the
database again: nobody has ever worked in it.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from garage.backup.errors import BackupError
from garage.backup.postgres_book import PostgresBook, tables_of
from garage.site.damage import UNFINISHED

HAS_MARK = "SELECT to_regclass(quote_ident(current_schema()) || '.' || quote_ident(%s)) IS NOT NULL"
# What a migration leaves besides tables: the functions behind the triggers of the record.
FUNCTIONS = (
    "SELECT p.oid::regprocedure::text FROM pg_proc AS p JOIN pg_namespace AS n ON n.oid = p.pronamespace "
    "LEFT JOIN pg_depend AS d ON d.objid = p.oid AND d.deptype = 'e' "
    "WHERE n.nspname = current_schema() AND d.objid IS NULL"
)


@contextmanager
def being_filled(book: PostgresBook) -> Iterator[None]:
    """`book` is marked within this. If it fails, the database is emptied again; the mark goes with `finish`.

    Raises
    ------
    BackupError
        If it holds anything already.
    """
    refuse_in_use(book)
    if is_marked(book):
        _send_away(book)
        empty(book)
    with book.opened() as server:
        server.execute(f"CREATE TABLE {UNFINISHED} (began timestamptz NOT NULL DEFAULT now())")
    try:
        yield
    except BaseException:
        empty(book)
        raise


def refuse_in_use(book: PostgresBook) -> None:
    """Refuse a database that holds anything but what a killed restore or move left in it.

    Raises
    ------
    BackupError
        If it does, or cannot be reached.
    """
    with book.opened() as server:
        in_use = bool(tables_of(server))
    if in_use and not is_marked(book):
        raise BackupError(f"{book} is not empty. Name an empty one: nothing is ever written over a book.")


def finish(book: PostgresBook) -> None:
    """From here on the database is whole, and a workshop opens on it."""
    with book.opened() as server:
        server.execute(f"DROP TABLE {UNFINISHED}")


def is_marked(book: PostgresBook) -> bool:
    with book.opened() as server:
        row = server.execute(HAS_MARK, [UNFINISHED]).fetchone()
        return bool(row and row[0])


def _send_away(book: PostgresBook) -> None:
    """End what a killed restore or move has left running in `book`."""
    with book.opened() as server:
        server.execute(
            "SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity "
            "WHERE datname = current_database() AND usename = current_user AND pid <> pg_backend_pid()"
        )


def empty(book: PostgresBook) -> None:
    """Take away every table and function, the mark last: who is killed meanwhile leaves it marked."""
    from psycopg import sql

    with book.opened() as server:
        for table in tables_of(server):
            server.execute(sql.SQL("DROP TABLE IF EXISTS {} CASCADE").format(sql.Identifier(table)))
        for (function,) in server.execute(FUNCTIONS).fetchall():
            server.execute(f"DROP FUNCTION IF EXISTS {function} CASCADE")
        server.execute(f"DROP TABLE IF EXISTS {UNFINISHED}")
