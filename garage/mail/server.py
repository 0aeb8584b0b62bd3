"""The mail server with all that is needed to speak to it."""

from dataclasses import dataclass, field

from garage.mail.models import MailSettings, Security
from garage.mail.password import opened
from garage.mail.troubles import PASSWORD_NOT_READABLE, MailNotTakenError
from garage.people.queries import get_workshop
from garage.second_factor.sealing import SealBrokenError


@dataclass(frozen=True, slots=True)
class MailServer:
    """Where mail is handed over, and as whom. The password shows in no representation."""

    host: str
    port: int
    security: Security
    user_name: str
    password: str = field(repr=False)
    sender_address: str
    sender_name: str


def is_set_up() -> bool:
    """Whether mail can be sent from here."""
    return MailSettings.objects.filter(in_use=True).exists()


def kept_settings() -> MailSettings:
    """What the owner saved; settings that are not stored, and say nothing yet, before that."""
    return MailSettings.objects.first() or MailSettings()


def answers_go_to(kept: MailSettings) -> str:
    """The workshop's own address, where it is another than the sender's; empty where answers need no other."""
    address = get_workshop().email
    return "" if address.casefold() == kept.sender_address.casefold() else address


def server_of(kept: MailSettings) -> MailServer:
    """The server of `kept`.

    Raises
    ------
    MailNotTakenError
        If the password was kept by a site with another secret key, or stayed behind when the book was brought in.
    """
    if kept.user_name and not kept.sealed_password:
        raise MailNotTakenError(PASSWORD_NOT_READABLE, for_good=True)
    try:
        password = opened(kept.sealed_password) if kept.sealed_password else ""
    except SealBrokenError:
        raise MailNotTakenError(PASSWORD_NOT_READABLE, for_good=True) from None
    return MailServer(
        host=kept.server,
        port=kept.port,
        security=Security(kept.security),
        user_name=kept.user_name,
        password=password,
        sender_address=kept.sender_address,
        sender_name=kept.sender_name,
    )
