"""The workshop and its limits of practice."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from garage.people.models import Workshop

_at_hand: ContextVar[Workshop | None] = ContextVar("_at_hand", default=None)


def get_workshop() -> Workshop:
    """The workshop; before it is set up, one that is not stored, with the usual limits."""
    return _at_hand.get() or Workshop.objects.first() or Workshop()


@contextmanager
def workshop_cached() -> Iterator[Workshop]:
    """Within this the workshop is asked for once: many jobs are judged by its limits, and nobody changes them."""
    here = get_workshop()
    token = _at_hand.set(here)
    try:
        yield here
    finally:
        _at_hand.reset(token)
