"""The bench PIN: who is writing at a shared tablet. Hashed, and throttled by person, whatever tablet is used."""

from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db.models import F

from garage.people.models import Staff

FAILURES_ALLOWED = 5
LOCKED_FOR = timedelta(minutes=5)


class PinRefusedError(Exception):
    """The PIN does not open this person's place. The message is for whoever typed it."""


def set_pin(person: Staff, pin: str) -> None:
    person.bench_pin = make_password(pin)
    person.pin_failures = 0
    person.pin_locked_until = None
    person.save(update_fields=["bench_pin", "pin_failures", "pin_locked_until"])


def check_pin(person: Staff, pin: str, *, at: datetime) -> None:
    """Let `person` write, or refuse.

    Raises
    ------
    PinRefusedError
        If the PIN is wrong, none is set, or too many were wrong before.
    """
    person.refresh_from_db()
    if person.pin_locked_until and at < person.pin_locked_until:
        minutes = max(1, round((person.pin_locked_until - at).total_seconds() / 60))
        raise PinRefusedError(f"Too many wrong PINs. Try again in {minutes} min, or sign in with the password.")
    # The try is counted before it is looked at: guesses sent side by side count as well.
    Staff.objects.filter(pk=person.pk).update(pin_failures=F("pin_failures") + 1)
    person.refresh_from_db()
    if person.pin_failures > FAILURES_ALLOWED:
        Staff.objects.filter(pk=person.pk).update(pin_failures=0, pin_locked_until=at + LOCKED_FOR)
        raise PinRefusedError("Too many wrong PINs. Try again in 5 min, or sign in with the password.")
    if not (person.is_active and person.bench_pin and check_password(pin, person.bench_pin)):
        raise PinRefusedError("That PIN is not right.")
    Staff.objects.filter(pk=person.pk).update(pin_failures=0, pin_locked_until=None)
