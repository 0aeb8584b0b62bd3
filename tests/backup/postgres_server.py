"""A PostgreSQL server of the tests' own, thrown away with them."""

import os
import pwd
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg

from garage.backup.postgres_book import PostgresBook

PLACES = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name))
IS_HERE = bool(PLACES) and (os.getuid() != 0 or any(user.pw_name == "postgres" for user in pwd.getpwall()))
# Nothing of it outlives the tests: no waiting for a disk.
SETTINGS = "-c fsync=off -c full_page_writes=off -c listen_addresses='' -c unix_socket_directories='{}'"


@contextmanager
def running() -> Iterator[PostgresBook]:
    """A server with a folder of its own; gives its first database, which stays empty."""
    # Not in a folder of pytest's, which other users may not enter: a server refuses to run as root.
    with tempfile.TemporaryDirectory(prefix="crankmark-server-") as folder:
        yield from _running_in(Path(folder))


def _running_in(folder: Path) -> Iterator[PostgresBook]:
    place = PLACES[-1]
    as_user: list[str] = []
    if os.getuid() == 0:
        os.chown(folder, pwd.getpwnam("postgres").pw_uid, -1)
        as_user = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]
    data, control = str(folder / "db"), [*as_user, str(place / "pg_ctl"), "-s", "-w", "-D", str(folder / "db")]
    subprocess.run(
        [*as_user, place / "initdb", "--no-sync", "--encoding=UTF8", "-U", "crankmark", "--auth=trust", "-D", data],
        check=True, stdout=subprocess.DEVNULL, cwd=folder,
    )  # fmt: skip
    subprocess.run([*control, "-l", folder / "log", "-o", SETTINGS.format(folder), "start"], check=True, cwd=folder)
    try:
        yield PostgresBook("postgres", host=str(folder), user="crankmark")
    finally:
        subprocess.run([*control, "-m", "immediate", "stop"], check=True, cwd=folder)


def new_database(server: PostgresBook, name: str, *, like: str = "template0") -> PostgresBook:
    asked(server, f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
    asked(server, f'CREATE DATABASE "{name}" TEMPLATE "{like}"')
    return server.named(name)


def asked(database: PostgresBook, query: str) -> list[tuple]:
    with psycopg.connect(host=database.host, user=database.user, dbname=database.name, autocommit=True) as connection:
        found = connection.execute(query)
        return found.fetchall() if found.description else []


def url_of(database: PostgresBook) -> str:
    return f"postgres://{database.user}@/{database.name}?host={database.host}"
