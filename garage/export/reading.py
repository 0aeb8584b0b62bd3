"""Opening an archive of the open book: nothing in it is believed before every byte was hashed."""

import hashlib
import json
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from garage.export import schema
from garage.export.archive import CHUNK, FILES, FORMAT, MANIFEST, SUMS, TABLES, ExportError
from garage.export.rows import Row

# Rows of a book shrink to a twentieth at most; what grows a thousandfold was made to fill a disk.
MOST_GROWTH = 200
# Lists of names and hashes, and a single row, are read into memory: none is ever near so long.
LONGEST_LIST, LONGEST_ROW = 256 * CHUNK, 16 * CHUNK
UNREADABLE = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, UnicodeDecodeError)


@dataclass(frozen=True, slots=True)
class OpenBook:
    """An archive whose every file is what its list of hashes says."""

    archive: zipfile.ZipFile
    manifest: dict[str, Any]

    @property
    def files(self) -> list[str]:
        """The photographs and papers in it, by the names that the record has for them."""
        start = f"{FILES}/"
        return [name.removeprefix(start) for name in self.manifest["files"] if name.startswith(start)]

    def rows(self, table: str) -> Iterator[Row]:
        """The rows of `table`; none where the archive is of a release that had no such table."""
        name = f"{TABLES}/{table}.json"
        if name not in self.manifest["files"]:
            return
        with self.archive.open(name) as opened:
            while line := opened.readline(LONGEST_ROW):
                text = line.strip().rstrip(b",")
                if text not in (b"[", b"]", b""):
                    yield json.loads(text)

    def chunks(self, file: str) -> Iterator[bytes]:
        with self.archive.open(f"{FILES}/{file}") as opened:
            while chunk := opened.read(CHUNK):
                yield chunk


@contextmanager
def opened_book(file: Path) -> Iterator[OpenBook]:
    """The book in `file`, after every byte of it was compared with its hashes.

    Raises
    ------
    ExportError
        If it is cut short, changed, of a later release, made to do harm, or no open book at all.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            _refuse_harm(file, archive)
            manifest = _manifest(archive)
            _refuse_changes(archive, manifest)
            yield OpenBook(archive, manifest)
    except OSError as problem:
        raise ExportError(f"{file} cannot be read ({problem.strerror or problem}).") from problem
    except UNREADABLE as problem:
        raise ExportError(f"{file} is no whole export ({problem}). Take another one.") from problem


def _refuse_harm(file: Path, archive: zipfile.ZipFile) -> None:
    members = archive.infolist()
    names = [member.filename for member in members]
    if len(set(names)) != len(names):
        raise ExportError("A file stands twice in the archive. Nothing was brought in.")
    for name in names:
        path = PurePosixPath(name)
        if path.is_absolute() or ".." in path.parts or "\\" in name or "\x00" in name or path.as_posix() != name:
            raise ExportError(f"{name[:80]!r} points out of the archive. Nothing was brought in.")
    if sum(member.file_size for member in members) > MOST_GROWTH * file.stat().st_size:
        raise ExportError("The archive unpacks to far more than it can hold. Nothing was brought in.")
    if any(member.file_size > LONGEST_LIST for member in members if member.filename in (MANIFEST, SUMS)):
        raise ExportError("The list of files is too long. Nothing was brought in.")


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    try:
        manifest: dict[str, Any] = json.loads(archive.read(MANIFEST))
        if manifest["format"] != FORMAT:
            raise KeyError
        if manifest["version"] > schema.VERSION:
            raise ExportError(f"It was written by a later release ({manifest['release']}). Install that release first.")
        for row in [*manifest["files"].values(), *manifest["tables"].values()]:
            row.items()
        return manifest
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        raise ExportError("This is no export of a book: its manifest.json is missing or unreadable.") from problem


def _refuse_changes(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> None:
    """Every file is announced with its hash, the list of them too, and nothing else is there."""
    announced = {name: row.get("sha256") for name, row in manifest["files"].items()}
    try:
        announced |= {
            name: digest
            for digest, name in (line.split("  ", 1) for line in archive.read(SUMS).decode().splitlines())
            if name == MANIFEST
        }
    except (KeyError, ValueError) as problem:
        raise ExportError(f"{SUMS} is missing or unreadable. Take another export.") from problem
    there = {name: _hash_of(archive, name) for name in archive.namelist() if name != SUMS}
    if wrong := sorted(name for name in announced.keys() | there.keys() if announced.get(name) != there.get(name)):
        raise ExportError(f"The archive was changed or damaged: {', '.join(wrong[:3])}. Take another export.")


def _hash_of(archive: zipfile.ZipFile, name: str) -> str:
    with archive.open(name) as opened:
        digest = hashlib.sha256()
        while chunk := opened.read(CHUNK):
            digest.update(chunk)
    return digest.hexdigest()
