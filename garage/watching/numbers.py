"""The number of the request in hand: on every line of the log that it causes, and on the page of its error."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.http import HttpRequest

_number: ContextVar[str] = ContextVar("_number", default="")


def number() -> str:
    """That of the request in hand; empty outside of one."""
    return _number.get()


@contextmanager
def numbered() -> Iterator[str]:
    made = secrets.token_hex(5)
    token = _number.set(made)
    try:
        yield made
    finally:
        _number.reset(token)


def route_of(request: HttpRequest) -> str:
    """The address as it stands in the code, without what stood in its place: no token, no name, no plate."""
    match = getattr(request, "resolver_match", None)
    return f"/{match.route}" if match else ""
