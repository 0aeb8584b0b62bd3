"""The id of a task, made from what it is for: the same thing put in twice is one row, whoever puts it in."""

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

_ours = uuid.UUID("5d0e2d9c-1a0f-4c55-9a57-6f3f2f6f0b11")
_wanted: ContextVar[uuid.UUID | None] = ContextVar("_wanted", default=None)


def id_for(task_path: str, key: str) -> uuid.UUID:
    return uuid.uuid5(_ours, f"{task_path} {key}")


def next_id() -> uuid.UUID:
    """What the library gives its next row; settings name this function."""
    return _wanted.get() or uuid.uuid4()


@contextmanager
def its_id(wanted: uuid.UUID) -> Iterator[None]:
    """Within this, a task that is put in gets the id `wanted`."""
    token = _wanted.set(wanted)
    try:
        yield
    finally:
        _wanted.reset(token)
