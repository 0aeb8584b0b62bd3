"""The actor at a request: the person who is signed in, on the device they hold."""

from django.http import HttpRequest
from django.utils import timezone

from garage.people.devices import first_name_of
from garage.people.models import Device, Staff
from garage.record.actor import Actor


def actor_of(request: HttpRequest) -> Actor:
    """The person at `request`; the device is entered on its first written fact."""
    at = timezone.now()
    device, _ = Device.objects.get_or_create(
        pk=request.device_id,  # type: ignore[attr-defined]
        defaults={"name": first_name_of(request), "first_seen": at},
    )
    assert isinstance(request.user, Staff)  # noqa: S101 - the middleware has seen to it
    return Actor(person=request.user, at=at, device=device)
