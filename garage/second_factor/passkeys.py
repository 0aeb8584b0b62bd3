"""Passkeys (WebAuthn, W3C): a key in the person's device signs a challenge under the name of this site.

The `webauthn` package reads and checks what the device answers. Here is only which name counts, and what is kept.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from ipaddress import ip_address
from typing import TYPE_CHECKING, Any

import webauthn
from django.utils.crypto import salted_hmac
from webauthn.helpers import base64url_to_bytes, bytes_to_base64url
from webauthn.helpers.exceptions import WebAuthnException
from webauthn.helpers.structs import (
    AuthenticatorSelectionCriteria,
    PublicKeyCredentialDescriptor,
    ResidentKeyRequirement,
    UserVerificationRequirement,
)

from garage.record.refusals import RuleRefusedError
from garage.second_factor.models import Passkey

if TYPE_CHECKING:
    from garage.people.models import Staff

# The password came first: the device need not ask for a finger or a code as well.
VERIFICATION = UserVerificationRequirement.DISCOURAGED


class PasskeyRefusedError(RuleRefusedError):
    """What the device answered does not fit the challenge, the name of the site, or the key."""


@dataclass(frozen=True, slots=True)
class Site:
    """Under which name the site was opened, and how."""

    host: str  # without the port
    origin: str

    @property
    def why_not(self) -> str:
        """Why a passkey cannot be used under this name; nothing where it can. WebAuthn level 2, 5.1.2 and 13.4.9."""
        try:
            ip_address(self.host.strip("[]"))
        except ValueError:
            if self.origin.startswith("https://") or self.host == "localhost":
                return ""
            return "Passkeys need https. Open the workshop by its https address."
        return "Passkeys need a name, and this page was opened by a number. Open the workshop by its name."


def of_this_name(person: Staff, site: Site) -> list[Passkey]:
    """Those that answer under the name by which the site was opened."""
    return [] if site.why_not else list(person.passkeys.filter(host=site.host))


def registration(person: Staff, *, site: Site, workshop: str) -> tuple[dict[str, Any], str]:
    """What the browser is asked to make a key by, and the challenge that its answer has to carry."""
    options = webauthn.generate_registration_options(
        rp_id=site.host,
        rp_name=workshop,
        # Says nothing of the person, as the standard wants it (14.6.1), and is the same for each of their keys.
        user_id=salted_hmac("passkey", str(person.pk)).digest(),
        user_name=person.username,
        user_display_name=person.name,
        exclude_credentials=_descriptors(person.passkeys.filter(host=site.host)),
        authenticator_selection=AuthenticatorSelectionCriteria(
            resident_key=ResidentKeyRequirement.DISCOURAGED, user_verification=VERIFICATION
        ),
    )
    return json.loads(webauthn.options_to_json(options)), bytes_to_base64url(options.challenge)


def registered(person: Staff, answer: str, *, challenge: str, site: Site, name: str, at: datetime) -> Passkey:
    """The new key, not saved yet.

    Raises
    ------
    PasskeyRefusedError
        If the answer is none to this challenge.
    """
    try:
        found = webauthn.verify_registration_response(
            credential=answer,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=site.host,
            expected_origin=site.origin,
        )
    except (WebAuthnException, ValueError, TypeError, KeyError, AttributeError) as refused:
        raise PasskeyRefusedError("Your device's passkey did not fit. Try again.") from refused
    return Passkey(
        person=person,
        name=name,
        host=site.host,
        credential_id=bytes_to_base64url(found.credential_id),
        public_key=bytes_to_base64url(found.credential_public_key),
        sign_count=found.sign_count,
        made_at=at,
    )


def challenge_for(person: Staff, *, site: Site) -> tuple[dict[str, Any], str]:
    """What the browser is asked to sign, and the challenge in it."""
    options = webauthn.generate_authentication_options(
        rp_id=site.host,
        allow_credentials=_descriptors(of_this_name(person, site)),
        user_verification=VERIFICATION,
    )
    return json.loads(webauthn.options_to_json(options)), bytes_to_base64url(options.challenge)


def takes(person: Staff, answer: str, *, challenge: str, site: Site, at: datetime) -> bool:
    """Whether a key of `person` signed `challenge` under the name of this site."""
    try:
        given = json.loads(answer)
        key = person.passkeys.filter(host=site.host, credential_id=given["id"]).first()
        if key is None:
            return False
        found = webauthn.verify_authentication_response(
            credential=given,
            expected_challenge=base64url_to_bytes(challenge),
            expected_rp_id=site.host,
            expected_origin=site.origin,
            credential_public_key=base64url_to_bytes(key.public_key),
            credential_current_sign_count=key.sign_count,
        )
    except (WebAuthnException, ValueError, TypeError, KeyError, AttributeError):
        return False
    # A copy of the key would bring a count that was seen already; keys that do not count bring nought each time.
    same = Passkey.objects.filter(pk=key.pk, sign_count=key.sign_count)
    return bool(same.update(sign_count=found.new_sign_count, last_used_at=at))


def _descriptors(keys: Any) -> list[PublicKeyCredentialDescriptor]:
    return [PublicKeyCredentialDescriptor(id=base64url_to_bytes(key.credential_id)) for key in keys]
