"""Ten codes on paper, for the day the phone is lost: shown once, kept hashed, each good once."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib.auth.hashers import check_password, make_password

from garage.second_factor.models import RecoveryCode

if TYPE_CHECKING:
    from garage.people.models import Staff

HOW_MANY = 10
# Letters and digits that nobody mistakes for one another on paper; ten of them are 49 bits.
ALPHABET = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"
LENGTH = 10


def make(person: Staff) -> list[str]:
    """Ten new codes as they are to be shown. The old ones are good no longer."""
    codes = ["".join(secrets.choice(ALPHABET) for _ in range(LENGTH)) for _ in range(HOW_MANY)]
    person.recovery_codes.all().delete()
    RecoveryCode.objects.bulk_create(RecoveryCode(person=person, hashed=make_password(code)) for code in codes)
    return [f"{code[:5]}-{code[5:]}" for code in codes]


def takes(person: Staff, typed: str, at: datetime) -> bool:
    """Whether `typed` is one of the codes left; from then on it is not."""
    plain = "".join(typed.upper().split()).replace("-", "")
    if len(plain) != LENGTH:
        return False
    for code in left(person):
        if check_password(plain, code.hashed):
            return bool(RecoveryCode.objects.filter(pk=code.pk, used_at=None).update(used_at=at))
    return False


def left(person: Staff) -> list[RecoveryCode]:
    return list(person.recovery_codes.filter(used_at=None))
