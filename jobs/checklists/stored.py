"""The photographs as they were saved: what is no longer the one whose hash was kept is never shown as if it were."""

import hashlib
import io

from PIL import Image

from garage.record.refusals import RuleRefusedError
from jobs.checklists.models import KeptPhotograph
from jobs.checklists.photographs import thumbnail_of


class PhotographDamagedError(RuleRefusedError):
    """The stored photograph is gone, or is not the one that was taken."""


def stored_photograph(photograph: KeptPhotograph) -> bytes:
    """The photograph as it was saved.

    Raises
    ------
    PhotographDamagedError
        If the file is gone, or its bytes changed.
    """
    if not photograph.file:
        raise PhotographDamagedError("This photograph was erased.")
    try:
        with photograph.file.open("rb") as file:
            kept: bytes = file.read()
    except OSError as problem:
        raise PhotographDamagedError("This photograph is missing from the disk.") from problem
    if hashlib.sha256(kept).hexdigest() != photograph.sha256:
        raise PhotographDamagedError("This photograph is not as it was saved.")
    return kept


def stored_thumbnail(photograph: KeptPhotograph) -> bytes:
    """The small picture; drawn again from the large one where it is gone or no picture any more.

    Raises
    ------
    PhotographDamagedError
        If the large one is not sound either.
    """
    try:
        with photograph.thumbnail.open("rb") as file:
            kept: bytes = file.read()
        Image.open(io.BytesIO(kept)).load()
    except (OSError, SyntaxError, ValueError):
        return thumbnail_of(stored_photograph(photograph))
    return kept
