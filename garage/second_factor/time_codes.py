"""Time codes (RFC 6238): six digits that change every thirty seconds, each good once."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

import pyotp
import segno
from pyotp.exceptions import OTPVerificationError

from garage.second_factor.models import TimeCode
from garage.second_factor.sealing import SealBrokenError, opened

if TYPE_CHECKING:
    from garage.people.models import Staff

DIGITS = 6
# RFC 6238, 5.2: one step for the time between reading and typing. One ahead, for a phone whose clock is a little fast.
STEPS_OFF = 1


def new_secret() -> str:
    """160 bits in base32, as RFC 4226 recommends."""
    return pyotp.random_base32(32)


def step_of(secret: str, code: str, at: datetime) -> int | None:
    """The time step whose code this is, at the moment `at`; none where it is the code of no step near."""
    try:
        return pyotp.TOTP(secret, digits=DIGITS).verify_and_get_timecode(code, for_time=at, valid_window=STEPS_OFF)
    except OTPVerificationError:
        return None


def takes(time_code: TimeCode, code: str, at: datetime) -> bool:
    """Whether `code` is good now; from then on it, and every older one, is not."""
    try:
        secret = opened(time_code.sealed_secret, time_code.person_id)
    except SealBrokenError:
        return False
    step = step_of(secret, code, at)
    if step is None:
        return False
    # Asked and noted in one: of two who send the same code side by side, one comes in.
    return bool(TimeCode.objects.filter(pk=time_code.pk, last_step__lt=step).update(last_step=step))


def readable(time_code: TimeCode) -> bool:
    """Whether the secret can be read: not after the site's secret key was lost."""
    try:
        opened(time_code.sealed_secret, time_code.person_id)
    except SealBrokenError:
        return False
    return True


def typed_key(secret: str) -> str:
    """The secret in groups of four, for who cannot photograph it."""
    return " ".join(secret[start : start + 4] for start in range(0, len(secret), 4))


def picture(secret: str, *, person: Staff, workshop: str) -> str:
    """What an authenticator app photographs, as a picture's address that needs no second request."""
    uri = pyotp.TOTP(secret, digits=DIGITS).provisioning_uri(name=person.username, issuer_name=workshop)
    return segno.make(uri, error="m").svg_data_uri(scale=5, border=4, dark="#000", light="#fff")
