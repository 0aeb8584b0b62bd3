"""Putting a backup into an empty folder, and proving one by doing so."""

import hashlib
import json
import os
import shutil
import sqlite3
import tarfile
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from garage.backup.archive import CHUNK, DATABASE, FILES, FORMAT, KEYS, MANIFEST, PROVING, BackupError, rows_of
from garage.files.atomic import folder_on_the_disk, reach_the_disk

# What the restored book is asked besides its hashes; gives sentences of what is wrong.
Check = Callable[[Path], list[str]]


@dataclass(frozen=True, slots=True)
class Restored:
    """What came out of an archive."""

    made_at: str
    release: str
    files: int
    rows: int


def restore(archive: Path, folder: Path, *, check: Check) -> Restored:
    """Put `archive` into the empty or new `folder`. It appears there whole and checked, or not at all.

    Raises
    ------
    BackupError
        If the folder is in use, or the archive is cut short, changed, of a later release or no backup.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BackupError(f"{folder} is not empty. Name an empty or new folder: nothing is ever restored over a book.")
    try:
        folder_on_the_disk(folder.parent)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}-restoring-") as scratch:
            inside = Path(scratch) / "book"
            restored = _unpacked(archive, inside, check)
            if folder.exists():
                folder.rmdir()
            inside.rename(folder)
        reach_the_disk(folder.parent)
    except OSError as problem:
        raise _cannot_write(folder, problem) from problem
    return restored


def prove(archive: Path, *, check: Check) -> Restored:
    """Restore `archive` into a scratch folder beside it, count and hash, and take the scratch folder away again.

    Raises
    ------
    BackupError
        If it could not be restored.
    """
    try:
        with tempfile.TemporaryDirectory(dir=archive.parent, prefix=PROVING) as scratch:
            return _unpacked(archive, Path(scratch) / "book", check)
    except OSError as problem:
        raise _cannot_write(archive.parent, problem) from problem


def _cannot_write(folder: Path, problem: OSError) -> BackupError:
    return BackupError(f"Cannot restore into {folder} ({problem.strerror or problem}). Make room, or name another.")


def _unpacked(archive: Path, folder: Path, check: Check) -> Restored:
    folder.mkdir(mode=0o700)
    if shutil.disk_usage(folder).free < _size_of(archive):
        raise BackupError(f"{folder.parent.parent} has too little room for this backup. Make room, or name another.")
    try:
        with tarfile.open(archive, mode="r:") as tar:
            found = {member.name: _taken_out(tar, member, folder) for member in tar}
    except (tarfile.TarError, EOFError, ValueError) as problem:
        raise BackupError(f"{archive} is no whole backup ({problem}). Take another one.") from problem
    manifest = _manifest(archive, folder)
    announced = {name: row["sha256"] for name, row in manifest["files"].items()}
    found.pop(MANIFEST)
    if wrong := sorted(name for name in announced.keys() | found.keys() if announced.get(name) != found.get(name)):
        raise BackupError(f"{archive} was changed or damaged: {', '.join(wrong[:3])}. Take another backup.")
    (folder / MANIFEST).unlink()
    (folder / FILES).mkdir(mode=0o700, exist_ok=True)
    _prove_the_database(archive, folder / DATABASE, manifest)
    if problems := check(folder):
        raise BackupError(f"{archive} is not sound: {' '.join(problems[:3])} Take another backup.")
    return Restored(manifest["made_at"], manifest["release"], len(announced), sum(manifest["rows"].values()))


def _size_of(archive: Path) -> int:
    try:
        return archive.stat().st_size
    except OSError as problem:
        raise BackupError(f"{archive} cannot be read ({problem.strerror}).") from problem


def _taken_out(tar: tarfile.TarFile, member: tarfile.TarInfo, folder: Path) -> str:
    """Write one file of the archive into `folder`; gives back its hash."""
    path = PurePosixPath(member.name)
    known = path.parts and path.parts[0] in (MANIFEST, DATABASE, FILES, *KEYS)
    if not member.isreg() or path.is_absolute() or ".." in path.parts or not known:
        raise BackupError(f"{member.name} has no place in a backup of a workshop. Nothing was restored.")
    file, digest = folder / path, hashlib.sha256()
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    packed = tar.extractfile(member)
    assert packed is not None  # noqa: S101 - a regular file has content
    left = member.size
    with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as opened:
        while part := packed.read(CHUNK):
            left -= len(part)
            digest.update(part)
            opened.write(part)
        opened.flush()
        os.fsync(opened.fileno())
    if left:
        raise EOFError("it ends early")
    return digest.hexdigest()


def _manifest(archive: Path, folder: Path) -> dict[str, Any]:
    try:
        manifest: dict[str, Any] = json.loads((folder / MANIFEST).read_text())
        if manifest["format"] > FORMAT:
            raise BackupError(f"{archive} was made by a later release ({manifest['release']}). Install that one first.")
        return manifest
    except (OSError, ValueError, KeyError, TypeError) as problem:
        raise BackupError(f"{archive} is no whole backup: it has no list of its files. Take another one.") from problem


def _prove_the_database(archive: Path, database: Path, manifest: dict[str, Any]) -> None:
    try:
        with closing(sqlite3.connect(database)) as opened:
            whole = opened.execute("PRAGMA integrity_check(1)").fetchone()[0]
            stray = opened.execute("PRAGMA foreign_key_check").fetchone()
            rows = rows_of(opened)
    except sqlite3.Error as problem:
        raise BackupError(f"The database in {archive} cannot be read ({problem}). Take another backup.") from problem
    if whole != "ok" or stray or rows != manifest["rows"]:
        raise BackupError(f"The database in {archive} is not sound. Take another backup.")
