"""Time codes against the test vectors of RFC 6238, appendix B (SHA-1, of whose eight digits the last six are ours)."""

import base64
from datetime import UTC, datetime, timedelta

import pytest

from garage.second_factor import time_codes
from garage.second_factor.models import TimeCode
from garage.second_factor.sealing import SealBrokenError, opened, sealed

RFC_SECRET = base64.b32encode(b"12345678901234567890").decode()
RFC_TABLE = [
    (59, "94287082"), (1111111109, "07081804"), (1111111111, "14050471"),
    (1234567890, "89005924"), (2000000000, "69279037"), (20000000000, "65353130"),
]  # fmt: skip


def moment(seconds):
    return datetime.fromtimestamp(seconds, UTC)


def kept(person, secret=RFC_SECRET):
    return TimeCode.objects.create(person=person, sealed_secret=sealed(secret, person.pk), proven_at=moment(0))


@pytest.mark.parametrize(("seconds", "eight"), RFC_TABLE)
def test_the_codes_of_the_standard_are_taken_at_their_moments(seconds, eight):
    assert time_codes.step_of(RFC_SECRET, eight[-6:], moment(seconds)) == seconds // 30


@pytest.mark.parametrize(("seconds", "eight"), RFC_TABLE[1:])
def test_a_code_is_good_one_step_early_or_late_and_no_longer(seconds, eight):
    asked = [time_codes.step_of(RFC_SECRET, eight[-6:], moment(seconds + 30 * steps)) for steps in (-1, 1, 2, 3)]
    assert asked == [seconds // 30, seconds // 30, None, None]


@pytest.mark.parametrize("code", ["", "000000", "94287082", "28708", "abcdef", "287082x"])
def test_anything_else_is_no_code(code):
    assert time_codes.step_of(RFC_SECRET, code, moment(59)) is None


def test_a_code_is_good_once(mechanic):
    time_code = kept(mechanic)
    assert time_codes.takes(time_code, "287082", moment(59))
    assert not time_codes.takes(time_code, "287082", moment(59))


def test_after_a_newer_code_the_one_before_it_is_not_taken(mechanic):
    """Both lie in the window of 1111111111 s; RFC 6238, 5.2: the verifier must not accept a second attempt."""
    time_code = kept(mechanic)
    assert time_codes.takes(time_code, "050471", moment(1111111111))
    assert not time_codes.takes(time_code, "081804", moment(1111111111))


def test_the_secret_does_not_lie_in_the_database(mechanic):
    secret = time_codes.new_secret()
    assert len(secret) == 32
    time_code = kept(mechanic, secret)
    time_code.refresh_from_db()
    assert secret not in time_code.sealed_secret
    assert opened(time_code.sealed_secret, mechanic.pk) == secret


def test_sealed_for_one_person_it_opens_nothing_for_another(mechanic, owner):
    with pytest.raises(SealBrokenError):
        opened(sealed(RFC_SECRET, mechanic.pk), owner.pk)


def test_with_another_secret_key_nothing_opens_until_the_old_one_is_named(mechanic, settings):
    time_code, before = kept(mechanic), settings.SECRET_KEY
    settings.SECRET_KEY = "another"
    assert not time_codes.readable(time_code)
    assert not time_codes.takes(time_code, "287082", moment(59))
    settings.SECRET_KEY_FALLBACKS = [before]
    assert time_codes.takes(time_code, "287082", moment(59))


def test_the_picture_carries_the_key_for_the_person_of_this_workshop(mechanic):
    """Read back from what is drawn: a QR code of the address and nothing else has just these modules."""
    import segno

    picture = time_codes.picture(RFC_SECRET, person=mechanic, workshop="Lockgate Motor Works")
    uri = f"otpauth://totp/Lockgate%20Motor%20Works:ines?secret={RFC_SECRET}&issuer=Lockgate%20Motor%20Works"
    assert picture == segno.make(uri, error="m").svg_data_uri(scale=5, border=4, dark="#000", light="#fff")


def test_a_fast_phone_s_code_is_not_good_again_when_its_time_comes(mechanic):
    time_code = kept(mechanic)
    assert time_codes.takes(time_code, "005924", moment(1234567890) - timedelta(seconds=30))
    assert not time_codes.takes(time_code, "005924", moment(1234567890))
