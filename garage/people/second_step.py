"""The second step of a sign-in: what follows the password for who has a second factor."""

import time
from dataclasses import dataclass

from django.contrib.auth.backends import BaseBackend
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import constant_time_compare

from garage.people.models import Role, SecondFactorFor, Staff, Workshop
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event
from garage.second_factor import passkeys, recovery_codes, time_codes
from garage.second_factor.passkeys import Site
from garage.second_factor.queries import has_second_factor, time_code_of

WAITS = 10 * 60  # [seconds] for the second step, after the password
# In the session's data.
PENDING, CHALLENGE, OWED = "password_given", "passkey_challenge", "second_factor_owed"


@dataclass(frozen=True, slots=True)
class Answer:
    """What somebody shows as their second factor: a code as typed, or what a passkey signed."""

    code: str
    passkey: str
    challenge: str
    site: Site


class SecondStep(BaseBackend):
    """Asked through `authenticate` as a password is, so that wrong codes are counted and slowed as those are."""

    def authenticate(  # type: ignore[override]
        self, request: HttpRequest | None, username: str, second_step: Answer
    ) -> Staff | None:
        person = Staff.objects.filter(username=username, is_active=True).first()
        return person if person is not None and _shown(person, second_step) else None


def _shown(person: Staff, answer: Answer) -> bool:
    now = timezone.now()
    if answer.passkey:
        return bool(answer.challenge) and passkeys.takes(
            person, answer.passkey, challenge=answer.challenge, site=answer.site, at=now
        )
    time_code = time_code_of(person)
    if time_code is not None and time_codes.takes(time_code, "".join(answer.code.split()), now):
        return True
    if has_second_factor(person) and recovery_codes.takes(person, answer.code, now):
        left = len(recovery_codes.left(person))
        trail.write(
            Event.RECOVERY_CODE_USED,
            person,
            f"Recovery code used, {left} left",
            actor=Actor(person=person, at=now),
        )
        return True
    return False


def wait_for_it(request: HttpRequest, person: Staff) -> None:
    """The password was right; nobody is signed in yet."""
    request.session.flush()
    request.session[PENDING] = {
        "person": person.pk,
        "at": int(time.time()),
        "password": person.get_session_auth_hash(),
    }


def who_waits(request: HttpRequest) -> Staff | None:
    """Whose second step this browser has still to take; nobody after ten minutes, or with another password since."""
    pending = request.session.get(PENDING)
    if pending is None or time.time() - pending["at"] > WAITS:
        return None
    person = Staff.objects.filter(pk=pending["person"], is_active=True).first()
    if person is None or not constant_time_compare(pending["password"], person.get_session_auth_hash()):
        return None
    return person


def site_of(request: HttpRequest) -> Site:
    host = request.get_host()
    bare = host if host.endswith("]") else host.rpartition(":")[0] or host
    return Site(host=bare.lower(), origin=f"{request.scheme}://{host.lower()}")


def ask_passkey(request: HttpRequest, person: Staff) -> dict[str, object] | None:
    """What the page hands the browser to sign, where the person has a passkey for this name."""
    site = site_of(request)
    if not passkeys.of_this_name(person, site):
        return None
    options, request.session[CHALLENGE] = passkeys.challenge_for(person, site=site)
    return options


def answer_of(request: HttpRequest, code: str, passkey: str) -> Answer:
    """The answer to the last challenge, which is good once."""
    return Answer(code, passkey, request.session.pop(CHALLENGE, ""), site_of(request))


def is_required_of(person: Staff) -> bool:
    """Whether the workshop wants a second factor of this person."""
    whom = Workshop.objects.values_list("second_factor_for", flat=True).first()
    if whom == SecondFactorFor.EVERYBODY:
        return True
    return whom == SecondFactorFor.OWNERS and person.groups.filter(name=Role.OWNER).exists()


def is_owed_by(person: Staff) -> bool:
    """Whether it is required and not there."""
    return is_required_of(person) and not has_second_factor(person)
