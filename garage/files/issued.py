"""Reading back a paper that went out: it is what was issued, or it is said that it is not."""

import hashlib

from django.core.files.storage import default_storage
from django.db.models.fields.files import FieldFile

from garage.record.refusals import RuleRefusedError


class PaperDamagedError(RuleRefusedError):
    """The stored file is not the one that was issued."""


class PaperErasedError(RuleRefusedError):
    """The stored file went with the customer whom it named; its number, day and hash are kept."""


def read_issued(file: FieldFile, sha256: str, name: str) -> bytes:
    """The paper `name` as it went out.

    Raises
    ------
    PaperDamagedError
        If the file is gone or is not the one whose hash was kept.
    PaperErasedError
        If the customer whom it named was erased.
    """
    if not file:
        raise PaperErasedError(f"{_beginning(name)} was erased with its customer.")
    return read_stored(str(file.name), sha256, name)


def read_stored(stored_as: str, sha256: str, name: str) -> bytes:
    """The paper `name` as it went out, by the name of its file.

    Raises
    ------
    PaperDamagedError
        If the file is gone or is not the one whose hash was kept.
    """
    name = _beginning(name)
    try:
        with default_storage.open(stored_as, "rb") as opened:
            kept = opened.read()
    except OSError as problem:
        raise PaperDamagedError(f"{name} is missing") from problem
    if hashlib.sha256(kept).hexdigest() != sha256:
        raise PaperDamagedError(f"{name} was changed after issue")
    return bytes(kept)


def _beginning(name: str) -> str:
    return name[:1].upper() + name[1:]
