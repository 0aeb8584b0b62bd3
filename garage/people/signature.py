"""Who, from where and when: what every change of the record carries."""

from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest
from django.utils import timezone

from garage.people.models import Device, Staff


@dataclass(frozen=True, slots=True)
class Signature:
    """The person, the device and the moment under which a fact enters the record."""

    by: Staff
    at: datetime
    device: Device | None = None


def signature(request: HttpRequest) -> Signature:
    """The signature of the person at `request`; the device is entered on its first written fact."""
    at = timezone.now()
    device, _ = Device.objects.get_or_create(
        pk=request.device_id,  # type: ignore[attr-defined]
        defaults={"name": _first_name_of(request), "first_seen": at},
    )
    assert isinstance(request.user, Staff)  # noqa: S101 - the middleware has seen to it
    return Signature(by=request.user, at=at, device=device)


def _first_name_of(request: HttpRequest) -> str:
    agent = request.headers.get("User-Agent", "")
    kind = next(
        (word for mark, word in [("iPad", "Tablet"), ("Tablet", "Tablet"), ("Mobile", "Phone")] if mark in agent),
        "Desk",
    )
    return f"{kind} {str(request.device_id)[:4]}"  # type: ignore[attr-defined]
