"""Putting a backup into an empty folder, and for PostgreSQL an empty database; and proving one by doing so."""

import hashlib
import json
import os
import shutil
import tarfile
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from garage.backup import reading, unfinished
from garage.backup.archive import CHUNK, FILES, FORMAT, KEYS, MANIFEST, PROVING
from garage.backup.errors import BackupError
from garage.backup.postgres_book import DUMP, PostgresBook, counted
from garage.backup.soundness import Book
from garage.backup.sqlite_book import DATABASE, sound_book
from garage.files.atomic import folder_on_the_disk, reach_the_disk

# What the restored book is asked besides its hashes; gives sentences of what is wrong.
Check = Callable[[Book], list[str]]


@dataclass(frozen=True, slots=True)
class Restored:
    """What came out of an archive."""

    made_at: str
    release: str
    files: int
    rows: int


def restore(
    archive: Path | str,
    folder: Path,
    *,
    check: Check,
    database: PostgresBook | None = None,
    passphrase: str | None = None,
    files_into: Callable[[Path], AbstractContextManager[None]] | None = None,
) -> Restored:
    """Put `archive` into the empty or new `folder`. It appears there whole and checked, or not at all.

    A book of PostgreSQL goes into the empty `database`, which is open to a workshop only when the folder is there too.
    `files_into` carries the folder of photographs and documents elsewhere, within it for good.

    Raises
    ------
    BackupError
        If the folder or the database is in use, or the archive is cut short, changed, of a later release or no backup.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BackupError(f"{folder} is not empty. Name an empty or new folder: nothing is ever restored over a book.")
    filled = unfinished.being_filled(database) if database else nullcontext()
    try:
        folder_on_the_disk(folder.parent)
        with filled, tempfile.TemporaryDirectory(dir=folder.parent, prefix=f".{folder.name}-restoring-") as scratch:
            inside = Path(scratch) / "book"
            restored = _unpacked(archive, inside, check, nullcontext(database), passphrase)
            _names_on_the_disk(inside)
            with files_into(inside / FILES) if files_into else nullcontext():
                if folder.exists():
                    folder.rmdir()
                inside.rename(folder)
                reach_the_disk(folder.parent)
        if database:
            unfinished.finish(database)
    except OSError as problem:
        raise _cannot_write(folder, problem) from problem
    return restored


def prove(
    archive: Path,
    *,
    check: Check,
    database: PostgresBook | None = None,
    passphrase: str | None = None,
    beside: Path | None = None,
) -> Restored:
    """Restore `archive` into a scratch folder in `beside` (else next to it), count and hash, and take that away again.

    A book of PostgreSQL is restored into a scratch database on the server of `database`.

    Raises
    ------
    BackupError
        If it could not be restored.
    """
    place = beside or archive.parent
    scratch_database = database.scratch() if database else nullcontext()
    try:
        with tempfile.TemporaryDirectory(dir=place, prefix=PROVING) as scratch:
            return _unpacked(archive, Path(scratch) / "book", check, scratch_database, passphrase)
    except OSError as problem:
        raise _cannot_write(place, problem) from problem


def _names_on_the_disk(folder: Path) -> None:
    for inner, _, _ in os.walk(folder):
        reach_the_disk(Path(inner))


def _cannot_write(folder: Path, problem: OSError) -> BackupError:
    return BackupError(f"Cannot restore into {folder} ({problem.strerror or problem}). Make room, or name another.")


def _unpacked(
    archive: Path | str,
    folder: Path,
    check: Check,
    landing: AbstractContextManager[PostgresBook | None],
    passphrase: str | None,
) -> Restored:
    folder.mkdir(mode=0o700)
    found = _all_taken_out(archive, folder, passphrase)
    manifest = _manifest(archive, folder)
    announced = {name: row["sha256"] for name, row in manifest["files"].items()}
    found.pop(MANIFEST)
    if wrong := sorted(name for name in announced.keys() | found.keys() if announced.get(name) != found.get(name)):
        raise BackupError(f"{archive} was changed or damaged: {', '.join(wrong[:3])}. Take another backup.")
    (folder / MANIFEST).unlink()
    (folder / FILES).mkdir(mode=0o700, exist_ok=True)
    with _book(archive, folder, manifest, landing) as book:
        if problems := check(book):
            raise BackupError(f"{archive} is not sound: {' '.join(problems[:3])} Take another backup.")
    return Restored(manifest["made_at"], manifest["release"], len(announced), sum(manifest["rows"].values()))


def _all_taken_out(archive: Path | str, folder: Path, passphrase: str | None) -> dict[str, str]:
    """Every file of `archive` written into `folder`; their hashes."""
    with reading.opened(archive, passphrase) as opened:
        if shutil.disk_usage(folder).free < opened.size:
            raise BackupError(
                f"{folder.parent.parent} has too little room for this backup. Make room, or name another."
            )
        try:
            with tarfile.open(fileobj=opened.stream, mode="r|", bufsize=CHUNK) as tar:
                found = {member.name: _taken_out(tar, member, folder) for member in tar}
            while opened.stream.read(CHUNK):
                pass  # to the very end: that nothing was cut off is known there
        except (tarfile.TarError, EOFError, ValueError) as problem:
            raise BackupError(f"{archive} is no whole backup ({problem}). Take another one.") from problem
    return found


def _taken_out(tar: tarfile.TarFile, member: tarfile.TarInfo, folder: Path) -> str:
    """Write one file of the archive into `folder`; gives back its hash."""
    path = PurePosixPath(member.name)
    known = path.parts and path.parts[0] in (MANIFEST, DATABASE, DUMP, FILES, *KEYS)
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


def _manifest(archive: Path | str, folder: Path) -> dict[str, Any]:
    try:
        manifest: dict[str, Any] = json.loads((folder / MANIFEST).read_text())
        if manifest["format"] > FORMAT:
            raise BackupError(f"{archive} was made by a later release ({manifest['release']}). Install that one first.")
        return manifest
    except (OSError, ValueError, KeyError, TypeError) as problem:
        raise BackupError(f"{archive} is no whole backup: it has no list of its files. Take another one.") from problem


@contextmanager
def _book(
    archive: Path | str,
    folder: Path,
    manifest: dict[str, Any],
    landing: AbstractContextManager[PostgresBook | None],
) -> Iterator[Book]:
    """The restored database, proven against the manifest, to be asked further."""
    dump = folder / DUMP
    with landing as database:
        if not dump.exists():
            if database is not None:
                raise BackupError(f"{archive} is the backup of a SQLite book. Restore it without a database.")
            with sound_book(str(archive), folder / DATABASE, manifest, folder / FILES) as book:
                yield book
            return
        if database is None:
            raise BackupError(
                f"{archive} is the backup of a book in PostgreSQL. Name an empty database: --database URL."
            )
        database.load(dump)
        dump.unlink()
        with database.opened() as server:
            if any(counts != manifest[kind] for kind, counts in counted(server).items()):
                raise BackupError(f"The database in {archive} is not what was copied. Take another backup.")
            yield Book(
                lambda query: server.execute(query.encode()).fetchall(),
                set(manifest["rows"]),
                lambda name: (folder / FILES / name).open("rb"),
            )
