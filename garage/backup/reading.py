"""Opening an archive to read, wherever it lies and whether it is encrypted or not."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from garage.backup import bucket
from garage.backup.encryption import FAMILY, DecryptingReader, is_encrypted
from garage.backup.errors import BackupError


@dataclass(frozen=True, slots=True)
class Opened:
    """The plain archive as a stream, and how many bytes lie there."""

    stream: Any
    size: int


@contextmanager
def opened(place: Path | str, passphrase: str | None) -> Iterator[Opened]:
    """The archive at `place`: a file, or `s3://bucket/key`.

    Raises
    ------
    BackupError
        If it is not there, or encrypted and not opened by `passphrase`.
    """
    with _raw(place) as (file, size):
        beginning = file.peek(len(FAMILY))[: len(FAMILY)]
        if not is_encrypted(beginning):
            yield Opened(file, size)
        elif passphrase is None:
            raise BackupError(f"{place} is encrypted. Name the file with its passphrase: --passphrase-file FILE.")
        else:
            yield Opened(DecryptingReader(file, passphrase, str(place)), size)


@contextmanager
def _raw(place: Path | str) -> Iterator[tuple[io.BufferedReader, int]]:
    if isinstance(place, str):
        with bucket.opened(place) as (body, size):
            yield io.BufferedReader(_Body(body)), size
        return
    try:
        file = place.open("rb")
    except OSError as problem:
        raise BackupError(f"{place} cannot be read ({problem.strerror}).") from problem
    with file:
        yield file, place.stat().st_size


class _Body(io.RawIOBase):
    """What a bucket sends, as a file that is read once from its beginning."""

    def __init__(self, body: IO[bytes]) -> None:
        self._body = body

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        part = self._body.read(len(buffer))
        buffer[: len(part)] = part
        return len(part)
