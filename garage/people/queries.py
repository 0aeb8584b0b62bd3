"""The workshop and its limits of practice."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date

from django.db.models import QuerySet

from garage.people.models import Staff, Workshop

_at_hand: ContextVar[Workshop | None] = ContextVar("_at_hand", default=None)


def get_workshop() -> Workshop:
    """The workshop; before it is set up, one that is not stored, with the usual limits."""
    return _at_hand.get() or Workshop.objects.first() or Workshop()


def people_with_pin() -> QuerySet[Staff]:
    """Whoever may write at a shared tablet by their bench PIN."""
    return Staff.objects.filter(is_active=True, groups__isnull=False).exclude(bench_pin="").distinct()


def people_without_pin() -> QuerySet[Staff]:
    """Whoever could write at a shared tablet, and has no bench PIN yet."""
    return Staff.objects.filter(is_active=True, groups__isnull=False, bench_pin="").distinct()


def colleagues(beside: Staff, permission: str) -> QuerySet[Staff]:
    """Whoever has a PIN and the permission, but for the person `beside` whom they stand."""
    return people_with_pin().filter(groups__permissions__codename=permission).exclude(pk=beside.pk)


def colleagues_without_pin(beside: Staff, permission: str) -> QuerySet[Staff]:
    """Whoever could be one of the `colleagues` once they have a PIN."""
    return people_without_pin().filter(groups__permissions__codename=permission).exclude(pk=beside.pk)


def mechanics() -> QuerySet[Staff]:
    """Whoever may do the work on a car."""
    return Staff.objects.filter(is_active=True, groups__permissions__codename="record_readings").distinct()


def works_alone(day: date) -> bool:
    """Whether nobody else is there to look at somebody's work on `day`."""
    workshop = get_workshop()
    return workshop.works_alone or workshop.alone_on == day


@contextmanager
def workshop_cached() -> Iterator[Workshop]:
    """Within this the workshop is asked for once: many jobs are judged by its limits, and nobody changes them."""
    here = get_workshop()
    token = _at_hand.set(here)
    try:
        yield here
    finally:
        _at_hand.reset(token)
