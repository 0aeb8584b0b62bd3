"""Where a person is signed in now."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import Enum
from ipaddress import ip_address
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone

from garage.people.models import OpenSession, Staff
from garage.people.sessions import OPENED, kept_key


class OpenedBy(Enum):
    """What a sign-in began with."""

    PASSWORD = "password"  # noqa: S105 - that it was one
    PIN = "PIN"


@dataclass(frozen=True, slots=True)
class SignedIn:
    """One sign-in as a page shows it: never its key. `since` is missing where nothing was noted when it began."""

    name: UUID
    device: str
    place: str
    since: datetime | None
    last_used: datetime
    by_pin: bool
    is_this_one: bool


def lasting(person: Staff) -> QuerySet[OpenSession]:
    """The sessions that would still open a page."""
    now = timezone.now()
    idle = now - timedelta(seconds=settings.SESSION_IDLE_AFTER)
    return person.open_sessions.filter(expire_date__gt=now, last_used__gt=idle).order_by("-last_used")


def signed_in_now(person: Staff, *, here: str = "") -> list[SignedIn]:
    """Those of `person`, the one with the key `here` first."""
    this = kept_key(here) if here else ""
    found = [_as_shown(row, row.session_key == this) for row in lasting(person)]
    return sorted(found, key=lambda one: not one.is_this_one)


def key_of(request: HttpRequest) -> str:
    return request.session.session_key or ""


def _as_shown(row: OpenSession, is_this_one: bool) -> SignedIn:
    opened = row.get_decoded().get(OPENED, {})
    return SignedIn(
        name=row.name,
        device=opened.get("device", "Unknown device"),
        place=place_in_words(opened.get("address", "")),
        since=datetime.fromtimestamp(opened["since"], UTC) if opened else None,
        last_used=row.last_used,
        by_pin=row.by_pin,
        is_this_one=is_this_one,
    )


def place_in_words(address: str) -> str:
    """Where an address is, as far as it says anything to a person."""
    try:
        found = ip_address(address)
    except ValueError:
        return "unknown"
    if found.is_loopback:
        return "workshop computer"
    return "outside the workshop" if found.is_global else "workshop network"


def forget_sessions(person: Staff, *, but: str = "", opened_by: OpenedBy | None = None) -> None:
    """End the sign-ins of `person` without a line: part of a change that has one, such as of a password."""
    rows = person.open_sessions.exclude(session_key=kept_key(but))
    if opened_by is not None:
        rows = rows.filter(by_pin=opened_by is OpenedBy.PIN)
    rows.delete()
