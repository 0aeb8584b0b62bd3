"""Taking in the file of a log as it was sent: hashed and compressed on its way to the disk, never whole in memory."""

import gzip
import hashlib
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import PurePath
from typing import IO, Any

from django.core.files.storage import default_storage
from django.db.models.fields.files import FieldFile

from jobs.roadlogs.refusals import LogRefusedError
from jobs.roadlogs.shape import HEAD_BYTES, refuse_unless_text

LARGEST_LOG = 200 * 1024 * 1024
MOST_ROWS = 3_000_000
LONGEST_NAME = 120
TOO_LARGE = "More than 200 MB. Split the log."
TOO_MANY_ROWS = "More than 3,000,000 rows. Split the log."
ERASED = "This file was erased with its customer."
DAMAGED = "The saved file cannot be read. Upload it again."
# A logger's rows repeat: the quickest level takes a third of the time of the usual one for a tenth more bytes.
_QUICKLY = 1


@dataclass(frozen=True, slots=True)
class Received:
    """A log on the disk, compressed, and not yet kept; beginning, hash and size are of what was sent."""

    packed: IO[bytes]
    head: bytes
    sha256: str
    size: int


@contextmanager
def received(chunks: Iterable[bytes]) -> Iterator[Received]:
    """The file that comes in `chunks`, in a temporary file that goes when this ends.

    Raises
    ------
    LogRefusedError
        If it is empty, no text, or too large.
    """
    digest, size, head = hashlib.sha256(), 0, b""
    with tempfile.TemporaryFile() as packed:
        with gzip.GzipFile(fileobj=packed, mode="wb", compresslevel=_QUICKLY, mtime=0) as writing:
            for chunk in chunks:
                size += len(chunk)
                if size > LARGEST_LOG:
                    raise LogRefusedError(TOO_LARGE)
                if len(head) < HEAD_BYTES:
                    head += chunk[: HEAD_BYTES - len(head)]
                digest.update(chunk)
                writing.write(chunk)
        refuse_unless_text(head)
        packed.seek(0)
        yield Received(packed, head, digest.hexdigest(), size)


def head_of(file: FieldFile) -> bytes:
    """The beginning of a kept log.

    Raises
    ------
    LogRefusedError
        If the kept file is gone or damaged.
    """
    with opened(file) as reading:
        return reading.read(HEAD_BYTES)


@contextmanager
def opened(file: FieldFile) -> Iterator[gzip.GzipFile]:
    """A kept log as it was sent, to be read once.

    Raises
    ------
    LogRefusedError
        If the kept file is gone, went with its customer, or is damaged as far as it is read.
    """
    if not file:
        raise LogRefusedError(ERASED)
    try:
        with default_storage.open(str(file)) as packed, gzip.GzipFile(fileobj=_plain(packed)) as reading:
            yield reading
    except (FileNotFoundError, EOFError, gzip.BadGzipFile) as problem:
        raise LogRefusedError(DAMAGED) from problem


def _plain(packed: Any) -> IO[bytes]:
    return packed.file if packed.file is not None else packed


def plain_name(sent: str) -> str:
    """The name a file was sent under, without folders and without what cannot be printed."""
    name = PurePath(sent.replace("\\", "/")).name
    return "".join(letter for letter in name if letter.isprintable())[-LONGEST_NAME:] or "log"
