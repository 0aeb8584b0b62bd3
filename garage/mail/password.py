"""The mail server's password, kept so that a copied database does not give it away.

Sealed as the secrets of second factors are, under keys of a purpose of its own.
"""

from cryptography.fernet import InvalidToken

from garage.second_factor.sealing import SealBrokenError, locks

PURPOSE = b"crankmark: password of the mail server"


def sealed(password: str) -> str:
    return locks(PURPOSE).encrypt(password.encode()).decode()


def opened(kept: str) -> str:
    """The password itself.

    Raises
    ------
    SealBrokenError
        If it was sealed by a site with another secret key.
    """
    try:
        return locks(PURPOSE).decrypt(kept.encode()).decode()
    except InvalidToken as broken:
        raise SealBrokenError from broken
