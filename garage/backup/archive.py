"""A backup: the whole book in one archive, made while people write, and either whole or not there.

A plain tar file, which any tool opens: the database, the folder of photographs and documents as it is, and
`manifest.json` with the hash of each file. With a passphrase the same tar lies in an age file (`encryption.py`).
Nothing of the record is ever taken away, and a file is kept before the record names it: so the database is copied
first, and every file it names is there when the files are read after it.
"""

import hashlib
import io
import json
import os
import re
import shutil
import tarfile
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any, Protocol

from garage.backup.encryption import EncryptingWriter
from garage.backup.errors import BackupError
from garage.files.atomic import reach_the_disk
from garage.files.kept import KeptFile, files_in, on_disk

MANIFEST, FILES = "manifest.json", "files"
# What opens the workshop to its tablets again; asked for by name, for whoever holds it can pass for the workshop.
KEYS = ("secret-key", "certificates")
NAME, ENCRYPTED = "crankmark-%Y%m%d-%H%M%S.tar", ".age"
NAMED = re.compile(r"(crankmark-\d{8}-\d{6}\.tar)(\.age)?")
MAKING, PROVING = ".making-", ".proving-"
A_DAY = 24 * 60 * 60
FORMAT = 1
CHUNK = 1024 * 1024
AT_ONCE = 16 * 1024 * 1024


class Database(Protocol):
    """Whatever keeps the book."""

    def copied(self, folder: Path) -> tuple[Path, dict[str, Any]]:
        """A copy in `folder` as of one moment, named as in the archive; and what the manifest says of it.

        Raises
        ------
        BackupError
            If it cannot be copied.
        """
        ...


@dataclass(frozen=True, slots=True)
class Source:
    """The workshop that is backed up: where it lies, and which release writes it."""

    folder: Path
    database: Database
    files: Callable[[], Iterable[KeptFile]]
    release: str


def make(source: Source, target: Path, *, at: datetime, with_keys: bool = False, passphrase: str | None = None) -> Path:
    """The archive of `source`, made in the folder `target`; on the disk and named when this returns.

    With a passphrase nothing of the book is ever in `target` as plain text: the copy of the database lies in the data
    folder meanwhile.

    Raises
    ------
    BackupError
        If it cannot be written. Nothing is left of it then.
    """
    final = target / f"{at.astimezone(UTC):{NAME}}{ENCRYPTED if passphrase else ''}"
    if not target.is_dir():
        # Never made here: where a disk is not plugged in, its folder would be made on the disk of the book.
        raise BackupError(f"The folder {target} is not there. Connect its disk, or make the folder.")
    beside = source.folder if passphrase else target
    sweep(target)
    sweep(source.folder)
    try:
        with (
            tempfile.TemporaryDirectory(dir=beside, prefix=MAKING) as plain,
            tempfile.TemporaryDirectory(dir=target, prefix=MAKING) as scratch,
        ):
            written = Path(scratch) / "archive"
            _write(source, written, Path(plain), at, with_keys, passphrase)
            os.link(written, final)
        reach_the_disk(target)
    except FileExistsError as problem:
        raise BackupError(f"{final} is there already. Try again in a second.") from problem
    except OSError as problem:
        raise BackupError(
            f"The backup cannot be written to {target} ({problem.strerror or problem}). "
            "Make room there, or name another folder in CRANKMARK_BACKUP."
        ) from problem
    return final


def sweep(folder: Path) -> None:
    """Take away what a backup left half made when its machine went off. One that is being made is never a day old."""
    for scratch in [*folder.glob(f"{MAKING}*"), *folder.glob(f"{PROVING}*")]:
        with suppress(OSError):
            if time.time() - scratch.stat().st_mtime > A_DAY:
                shutil.rmtree(scratch)


def _write(source: Source, archive: Path, plain: Path, at: datetime, with_keys: bool, passphrase: str | None) -> None:
    try:
        copy, said = source.database.copied(plain)
    except OSError as problem:
        raise BackupError(
            f"The database cannot be copied to {plain.parent} ({problem.strerror or problem}). Make room there."
        ) from problem
    contents: dict[str, dict[str, Any]] = {}
    with _new(archive, passphrase) as opened, tarfile.open(fileobj=opened, mode="w", format=tarfile.PAX_FORMAT) as tar:
        contents[copy.name] = _added(tar, on_disk(copy, copy.name))
        copy.unlink()
        for file in _files_of(source, with_keys):
            contents[file.name] = _added(tar, file)
        manifest = {
            "format": FORMAT,
            "made_at": at.astimezone(UTC).isoformat(),
            "release": source.release,
            **said,
            "files": contents,
        }
        _added_bytes(tar, json.dumps(manifest, indent=1).encode(), MANIFEST)


@contextmanager
def _new(archive: Path, passphrase: str | None) -> Iterator[Any]:
    """What is written to goes to the new file `archive`, which is on the disk afterwards."""
    with archive.open("xb") as opened:
        os.fchmod(opened.fileno(), 0o600)
        steady = _Steady(opened)
        if passphrase:
            writer = EncryptingWriter(steady, passphrase)
            yield writer
            writer.finish()
        else:
            yield steady
        opened.flush()
        os.fsync(opened.fileno())


class _Steady:
    """Writes to a file, and has the disk keep up: who ticks meanwhile waits for little of ours, and not for gigabytes.

    A journalling file system puts everything on the disk that was written before, as soon as anybody's entry has to be.
    """

    def __init__(self, file: IO[bytes]) -> None:
        self._file, self._since = file, 0

    def write(self, content: bytes) -> int:
        written = self._file.write(content)
        self._since += written
        if self._since >= AT_ONCE:
            self._file.flush()
            os.fdatasync(self._file.fileno())
            self._since = 0
        return written

    def tell(self) -> int:
        return self._file.tell()


def _files_of(source: Source, with_keys: bool) -> Iterator[KeptFile]:
    for file in source.files():
        yield KeptFile(f"{FILES}/{file.name}", file.open, file.size, file.changed_at)
    for key in [source.folder / name for name in KEYS if with_keys]:
        if key.is_file():
            yield on_disk(key, key.name)
        for file in files_in(key):
            yield KeptFile(f"{key.name}/{file.name}", file.open, file.size, file.changed_at)


class _Hashed:
    """Reads a file and hashes what was read."""

    def __init__(self, file: IO[bytes], name: str) -> None:
        self._file, self._name, self.digest = file, name, hashlib.sha256()

    def read(self, size: int = -1) -> bytes:
        with _readable(self._name):
            part = self._file.read(size)
        self.digest.update(part)
        return part


@contextmanager
def _readable(name: str) -> Iterator[None]:
    try:
        yield
    except OSError as problem:
        raise BackupError(
            f"{name} cannot be read ({problem.strerror or problem}): the disk of the book may be failing. "
            "No backup was made. `manage.py check_record` says what else is not as it was."
        ) from problem


def _added(tar: tarfile.TarFile, file: KeptFile) -> dict[str, Any]:
    entry = tarfile.TarInfo(file.name)
    with _readable(file.name):
        opened = file.open()
    with opened:
        with _readable(file.name):
            entry.size, entry.mtime, entry.mode = file.size(), int(file.changed_at()), 0o600
        hashed = _Hashed(opened, file.name)
        tar.addfile(entry, hashed)
    return {"bytes": entry.size, "sha256": hashed.digest.hexdigest()}


def _added_bytes(tar: tarfile.TarFile, content: bytes, name: str) -> None:
    entry = tarfile.TarInfo(name)
    entry.size, entry.mode = len(content), 0o600
    tar.addfile(entry, io.BytesIO(content))
