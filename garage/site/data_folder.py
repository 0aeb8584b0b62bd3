"""The one folder that holds all the workshop owns, and the plain words when it cannot be written."""

import os
import secrets
import shutil
from pathlib import Path

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
        probe = folder / f".writable-{os.getpid()}"
        probe.write_text("yes")
        probe.unlink()
    except OSError as problem:
        raise DataFolderError(
            f"Crankmark cannot write to its data folder {folder} ({problem.strerror}). "
            "Give this user the right to write there, or name another folder in CRANKMARK_DATA."
        ) from problem
    free = shutil.disk_usage(folder).free
    if free < LEAST_FREE_BYTES:
        raise DataFolderError(
            f"Only {free // 1024 // 1024} MB are free where Crankmark keeps its data ({folder}). "
            f"It wants at least {LEAST_FREE_BYTES // 1024 // 1024} MB: make room, or name another folder "
            "in CRANKMARK_DATA."
        )
    return folder


def kept_secret_key(folder: Path) -> str:
    """The site's secret key, made once and kept in the data folder, never in the repository."""
    kept = prepared(folder) / "secret-key"
    try:
        descriptor = os.open(kept, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return kept.read_text().strip()
    with os.fdopen(descriptor, "w") as file:
        key = secrets.token_urlsafe(64)
        file.write(key)
    return key
