"""Ending sign-ins: on a device left behind, or of a person who left."""

from django.db import transaction

from garage.people.models import OpenSession, Staff
from garage.people.open_sessions import forget_sessions, lasting
from garage.people.sessions import OPENED, kept_key
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event


@transaction.atomic
def end_session(*, session: OpenSession, actor: Actor) -> None:
    """Sign the person out there. The next page asked for on that device wants a sign-in."""
    assert session.person is not None  # noqa: S101 - only a person's sessions are shown
    device = session.get_decoded().get(OPENED, {}).get("device", "an unknown device")
    session.delete()
    trail.write(Event.SIGNED_OUT_ELSEWHERE, session.person, f"Signed out on {device}", actor=actor)


@transaction.atomic
def end_sessions(*, person: Staff, actor: Actor, but: str = "") -> int:
    """Sign `person` out everywhere, except where the key is `but`. How many sign-ins that ended."""
    ended = lasting(person).exclude(session_key=kept_key(but)).count()
    forget_sessions(person, but=but)
    if ended:
        words = "1 device" if ended == 1 else f"{ended} devices"
        trail.write(Event.SIGNED_OUT_ELSEWHERE, person, f"Signed out on {words}", actor=actor)
    return ended
