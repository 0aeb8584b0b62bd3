"""Setting a second factor up, and taking it off."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction

from garage.record import trail
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from garage.second_factor import recovery_codes
from garage.second_factor.models import Passkey, TimeCode
from garage.second_factor.queries import has_second_factor
from garage.second_factor.sealing import sealed
from garage.second_factor.time_codes import step_of

if TYPE_CHECKING:
    from garage.people.models import Staff
    from garage.record.actor import Actor


class SecondFactorRuleError(RuleRefusedError):
    """What a second factor does not allow, in a sentence."""


@transaction.atomic
def set_time_code(*, person: Staff, secret: str, code: str, actor: Actor) -> list[str]:
    """Put the time code in force that `code` proves. Ten recovery codes, if it is the person's first second factor.

    Raises
    ------
    SecondFactorRuleError
        If `code` is not the secret's code of now: the phone has not taken it.
    """
    step = step_of(secret, code, actor.at)
    if step is None:
        raise SecondFactorRuleError("Wrong code. Check the time on your phone and type the newest code.")
    first = not has_second_factor(person)
    TimeCode.objects.update_or_create(
        person=person,
        defaults={"sealed_secret": sealed(secret, person.pk), "proven_at": actor.at, "last_step": step},
    )
    trail.write(Event.SECOND_FACTOR_SET, person, "Time code set up", actor=actor)
    return recovery_codes.make(person) if first else []


@transaction.atomic
def add_passkey(*, passkey: Passkey, actor: Actor) -> list[str]:
    """Put the passkey in force. Ten recovery codes, if it is the person's first second factor."""
    first = not has_second_factor(passkey.person)
    passkey.save()
    trail.write(Event.SECOND_FACTOR_SET, passkey.person, f"Passkey added: {passkey.name}", actor=actor)
    return recovery_codes.make(passkey.person) if first else []


@transaction.atomic
def remove_passkey(*, passkey: Passkey, actor: Actor) -> None:
    """Take off one passkey of several, or of one beside a time code.

    Raises
    ------
    SecondFactorRuleError
        If it is the only second factor: that goes with all that hangs on it, by `remove_second_factor`.
    """
    person = passkey.person
    passkey.delete()
    if not has_second_factor(person):
        raise SecondFactorRuleError("This is your only second factor. Add another first, or remove it below.")
    trail.write(Event.SECOND_FACTOR_REMOVED, person, f"Passkey removed: {passkey.name}", actor=actor)


@transaction.atomic
def remove_second_factor(*, person: Staff, actor: Actor, reason: str = "") -> None:
    """From now on the password alone opens the account. `reason` is another person's, who does it for them."""
    TimeCode.objects.filter(person=person).delete()
    person.passkeys.all().delete()
    person.recovery_codes.all().delete()
    sentence = "Second factor removed"
    trail.write(Event.SECOND_FACTOR_REMOVED, person, f"{sentence}: {reason}" if reason else sentence, actor=actor)


@transaction.atomic
def make_recovery_codes(*, person: Staff, actor: Actor) -> list[str]:
    """Ten new recovery codes. The old ones are good no longer."""
    codes = recovery_codes.make(person)
    trail.write(Event.RECOVERY_CODES_MADE, person, "New recovery codes made", actor=actor)
    return codes
