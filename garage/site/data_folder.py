"""The one folder that holds all the workshop owns, and the plain words when it cannot be written."""

import secrets
import shutil
import tempfile
from pathlib import Path

from garage.files.atomic import kept_text

LEAST_FREE_BYTES = 50 * 1024 * 1024


class DataFolderError(SystemExit):
    """The data folder cannot be used. Ends the start with the sentence alone, without a traceback."""


def prepared(folder: Path) -> Path:
    """`folder`, made if need be, readable by its owner alone, and proven writable with room to spare.

    Raises
    ------
    DataFolderError
        Saying what is wrong and what to do about it.
    """
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if folder.stat().st_mode & 0o077:
            folder.chmod(0o700)
        with tempfile.TemporaryFile(dir=folder) as probe:  # a name of its own: several threads ask at once
            probe.write(b"yes")
    except OSError as problem:
        raise DataFolderError(
            f"Crankmark cannot write to its data folder {folder} ({problem.strerror}). "
            "Give this user the right to write there, or name another folder in CRANKMARK_DATA."
        ) from problem
    free = free_bytes(folder)
    if free < LEAST_FREE_BYTES:
        raise DataFolderError(
            f"Only {free // 1024 // 1024} MB are free where Crankmark keeps its data ({folder}). "
            f"It wants at least {LEAST_FREE_BYTES // 1024 // 1024} MB: make room, or name another folder "
            "in CRANKMARK_DATA."
        )
    return folder


def free_bytes(folder: Path) -> int:
    return shutil.disk_usage(folder).free


def kept_secret_key(folder: Path) -> str:
    """The site's secret key, made once and kept in the data folder, never in the repository."""
    return kept_text(prepared(folder) / "secret-key", lambda: secrets.token_urlsafe(64))
