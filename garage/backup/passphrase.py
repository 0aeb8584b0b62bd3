"""The passphrase of the backups, in a file that nobody but the workshop's user reads."""

import os
import stat
from pathlib import Path

from garage.backup.errors import BackupError

SHORTEST = 12


def read(file: Path | None) -> str | None:
    """What the first line of `file` says; None where no file is named.

    Raises
    ------
    BackupError
        If it cannot be read, others may read it, or it says too little to keep anything.
    """
    if file is None:
        return None
    try:
        with file.open("rb") as opened:
            state = os.fstat(opened.fileno())
            said = opened.readline().decode().strip()
    except OSError as problem:
        raise BackupError(f"The file with the passphrase, {file}, cannot be read ({problem.strerror}).") from problem
    except UnicodeDecodeError as problem:
        raise BackupError(f"The file with the passphrase, {file}, is no text.") from problem
    if stat.S_IMODE(state.st_mode) & 0o077:
        raise BackupError(f"Others may read the passphrase in {file}. Make it yours alone: chmod 600 {file}")
    if len(said) < SHORTEST:
        raise BackupError(f"The passphrase in {file} is shorter than {SHORTEST} characters. Use several words.")
    return said
