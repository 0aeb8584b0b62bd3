"""The server's own programs, `pg_dump` and `pg_restore`: found on this machine, of the right release, and run."""

import os
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

from garage.backup.errors import BackupError

# Where the packages of Debian and of the server's makers put the programs of each release.
PLACES = ("/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin")
RELEASE = re.compile(r"\(PostgreSQL\) (\d+)")


@dataclass(frozen=True, slots=True)
class Program:
    path: Path
    release: int


def program_for(name: str, server: int) -> Program:
    """The program `name` of the release of `server`; where there is none, the next later one.

    Raises
    ------
    BackupError
        If there is none, or only those of earlier releases: they do not know all that a later server keeps.
    """
    found = sorted(_found(name), key=lambda program: program.release)
    fitting = [program for program in found if program.release >= server]
    if fitting:
        return fitting[0]
    if found:
        raise BackupError(
            f"The {name} on this machine is of PostgreSQL {found[-1].release}, and the server of PostgreSQL {server}. "
            f"Install the client programs of PostgreSQL {server}. Nothing was written."
        )
    raise BackupError(
        f"{name} is not on this machine. Install the client programs of PostgreSQL {server} "
        f"(on Debian: apt install postgresql-client-{server}). Nothing was written."
    )


def _found(name: str) -> list[Program]:
    paths = {Path(path) for path in [shutil.which(name)] if path}
    for pattern in PLACES:
        paths |= set(Path("/").glob(f"{pattern.lstrip('/')}/{name}"))
    return [program for path in paths if (program := _asked(path))]


def _asked(path: Path) -> Program | None:
    try:
        said = subprocess.run(  # noqa: S603 - the server's own program
            [path, "--version"], capture_output=True, text=True, check=True, timeout=20
        ).stdout
    except (OSError, subprocess.SubprocessError):
        return None
    release = RELEASE.search(said)
    return Program(path, int(release[1])) if release else None


def run(program: Program, *arguments: str, password: str | None, failed: str) -> None:
    """Run `program`; the password travels in its environment, where other users of this machine do not see it.

    Raises
    ------
    BackupError
        Beginning with `failed`, and what the program said of it.
    """
    told = {**os.environ, **({"PGPASSWORD": password} if password else {})}
    done = subprocess.run(  # noqa: S603 - the server's own program
        [program.path, *arguments], env=told, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        said = [line for line in done.stderr.strip().splitlines() if line] or ["it ended without a word"]
        raise BackupError(f"{failed} ({said[0]}).")
