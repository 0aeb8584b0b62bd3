"""Whether a person has a second factor."""

from __future__ import annotations

from typing import TYPE_CHECKING

from garage.second_factor.models import TimeCode

if TYPE_CHECKING:
    from garage.people.models import Staff


def time_code_of(person: Staff) -> TimeCode | None:
    return TimeCode.objects.filter(person=person).first()


def has_second_factor(person: Staff) -> bool:
    """Recovery codes alone are none: they stand in for one that is lost."""
    return time_code_of(person) is not None or person.passkeys.exists()
