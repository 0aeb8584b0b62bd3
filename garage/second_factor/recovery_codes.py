"""Ten codes on paper, for the day the phone is lost: shown once, kept hashed, each good once."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib.auth.hashers import check_password, make_password

from garage.second_factor.models import RecoveryCode

if TYPE_CHECKING:
    from garage.people.models import Staff

# Letters and digits that nobody mistakes for one another on paper.
ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
MARKS = ALPHABET[:10]  # the first letter of each code, another for each
LENGTH = 12  # with the mark: eleven that are drawn are 54 bits
GROUP = 4


def make(person: Staff) -> list[str]:
    """Ten new codes as they are to be shown. The old ones are good no longer."""
    codes = [mark + "".join(secrets.choice(ALPHABET) for _ in range(LENGTH - 1)) for mark in MARKS]
    person.recovery_codes.all().delete()
    RecoveryCode.objects.bulk_create(
        RecoveryCode(person=person, mark=code[0], hashed=make_password(code)) for code in codes
    )
    return ["-".join(code[start : start + GROUP] for start in range(0, LENGTH, GROUP)) for code in codes]


def takes(person: Staff, typed: str, at: datetime) -> bool:
    """Whether `typed` is one of the codes left; from then on it is not."""
    plain = "".join(typed.upper().split()).replace("-", "")
    if len(plain) != LENGTH:
        return False
    code = person.recovery_codes.filter(used_at=None, mark=plain[0]).first()
    if code is None or not check_password(plain, code.hashed):
        return False
    return bool(RecoveryCode.objects.filter(pk=code.pk, used_at=None).update(used_at=at))


def left(person: Staff) -> list[RecoveryCode]:
    return list(person.recovery_codes.filter(used_at=None))
