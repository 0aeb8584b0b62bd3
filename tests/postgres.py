"""A throw-away PostgreSQL server for one test, where its programs are installed."""

import importlib.util
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SETTINGS = "-c fsync=off -c full_page_writes=off -c listen_addresses='' -c unix_socket_directories='{}'"


@contextmanager
def thrown_away() -> Iterator[str | None]:
    """The DATABASE_URL of an empty server that ends with the block; None where there is no PostgreSQL."""
    installed = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda found: int(found.parts[-3]))
    if not installed or importlib.util.find_spec("psycopg") is None:
        yield None
        return
    programs = installed[-1].parent
    folder = tempfile.mkdtemp(prefix="crankmark-pg-")
    as_whom = []
    if os.getuid() == 0:  # the server refuses to run as root
        shutil.chown(folder, "postgres")
        as_whom = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]

    def run(program: str, *arguments: str) -> None:
        subprocess.run(
            [*as_whom, str(programs / program), "-D", f"{folder}/db", *arguments],
            cwd=folder, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    run("initdb", "--no-sync", "--encoding=UTF8", "-U", "crankmark", "--auth=trust")
    run("pg_ctl", "-s", "-w", "-l", f"{folder}/log", "-o", SETTINGS.format(folder), "start")
    try:
        yield f"postgres://crankmark@/postgres?host={folder}"
    finally:
        run("pg_ctl", "-s", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)
