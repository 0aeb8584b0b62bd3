"""Secrets that the site has to read again, kept so that a copied database does not give them away.

Fernet (AES-128-CBC with HMAC-SHA256, of `cryptography`) under keys derived by HKDF (RFC 5869) from SECRET_KEY
and those it replaced. The person's number is sealed with the secret: moved to another row it opens nothing.
"""

import base64

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

PURPOSE = b"crankmark: secrets of second factors"


class SealBrokenError(Exception):
    """Sealed under another secret key, for another person, or changed since."""


def sealed(secret: str, person_id: int) -> str:
    return locks(PURPOSE).encrypt(f"{person_id} {secret}".encode()).decode()


def opened(kept: str, person_id: int) -> str:
    """The secret itself.

    Raises
    ------
    SealBrokenError
        If it was sealed for another person, or by a site with another secret key.
    """
    try:
        whose, _, secret = locks(PURPOSE).decrypt(kept.encode()).decode().partition(" ")
    except InvalidToken as broken:
        raise SealBrokenError from broken
    if whose != str(person_id):
        raise SealBrokenError
    return secret


def locks(purpose: bytes) -> MultiFernet:
    """The keys of one purpose: what is sealed for one opens nothing of another."""
    return MultiFernet([_lock(key, purpose) for key in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


def _lock(secret_key: str, purpose: bytes) -> Fernet:
    derived = HKDF(algorithm=SHA256(), length=32, salt=None, info=purpose).derive(secret_key.encode())
    return Fernet(base64.urlsafe_b64encode(derived))
