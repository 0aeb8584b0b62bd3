"""The bench PIN: who is writing at a shared tablet. Hashed, and throttled by person, whatever tablet is used."""

from dataclasses import replace
from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password
from django.db import transaction
from django.utils.crypto import salted_hmac

from garage.people.models import Staff
from garage.people.queries import get_workshop
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError

# Doubled with every further round, so that a shift at an unattended tablet does not get through ten thousand PINs.
LOCKED_FOR = timedelta(minutes=5)
LOCKED_AT_MOST = timedelta(hours=1)


class PinRefusedError(RuleRefusedError):
    """The PIN does not open this person's place. The message is for whoever typed it."""


def mark_of(person: Staff) -> str:
    """What a session that this PIN opened carries: with another PIN it is another one, and such a session is over."""
    return salted_hmac("bench-pin", person.bench_pin).hexdigest()


def check_pin(person: Staff, pin: str, *, at: datetime, typed_by: Actor | None = None) -> None:
    """Let `person` write, or refuse. Too many wrong PINs are told in the trail, under whoever was signed in there.

    Raises
    ------
    PinRefusedError
        If the PIN is wrong, none is set, or too many were wrong before.
    """
    _count_the_try(person, at, typed_by)
    if not (person.is_active and person.bench_pin and check_password(pin, person.bench_pin)):
        raise PinRefusedError("Wrong PIN.")
    Staff.objects.filter(pk=person.pk).update(pin_failures=0, pin_locked_until=None)


def actor_by_pin(person: Staff, pin: str, *, typed_by: Actor) -> Actor:
    """`person` as the actor of one act at a device where somebody else is signed in, and stays so.

    Raises
    ------
    PinRefusedError
        As `check_pin`.
    """
    check_pin(person, pin, at=typed_by.at, typed_by=typed_by)
    return replace(typed_by, person=person)


@transaction.atomic
def _count_the_try(person: Staff, at: datetime, typed_by: Actor | None) -> None:
    """Count a try before anybody looks at it, one at a time: guesses sent side by side are counted each."""
    person.refresh_from_db(from_queryset=Staff.objects.select_for_update())
    if person.pin_locked_until and at < person.pin_locked_until:
        minutes = max(1, round((person.pin_locked_until - at).total_seconds() / 60))
        raise PinRefusedError(f"Too many wrong PINs. Try again in {minutes} min or use the password.")
    person.pin_failures += 1
    rounds, left = divmod(person.pin_failures, get_workshop().pin_tries)
    if not left:
        # A right PIN at the last try lifts it again.
        person.pin_locked_until = at + min(LOCKED_FOR * 2 ** min(rounds - 1, 10), LOCKED_AT_MOST)
    person.save(update_fields=["pin_failures", "pin_locked_until"])
    if not left and typed_by is not None:
        trail.write(Event.PIN_LOCKED, person, f"{person.pin_failures} PINs tried", actor=typed_by)
