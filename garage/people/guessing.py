"""Guessing passwords from many addresses, or many names from one: slowed down by account, stopped by address.

A password that is wrong six times from one address is django-axes' affair; this stands before it.
"""

from datetime import datetime, timedelta

from axes.models import AccessFailureLog, AccessLog
from django.conf import settings
from django.contrib.auth.backends import BaseBackend
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.utils import timezone

WITHIN = timedelta(minutes=15)
# Of one account, from wherever: from then on every try has to wait, longer with each.
FREE_TRIES = 10
LONGEST_WAIT = timedelta(minutes=1)
# From one address, whatever the names. A router of a workshop is one address for all who sit behind it.
TRIES_OF_AN_ADDRESS = 40
# A place from which the person came in lately does not wait for what strangers do elsewhere.
KNOWN_FOR = timedelta(days=60)


def address_of(request: HttpRequest) -> str:
    """Where a request came from. What a proxy says counts only where one stands before us, and only its own word."""
    if settings.BEHIND_PROXY:
        # The last one is what our proxy saw; whatever is before it, the client may have written itself.
        said = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")[-1].strip()
        if said:
            return said
    return str(request.META.get("REMOTE_ADDR", ""))


class SlowsGuessing(BaseBackend):
    """Lets nobody in by itself; shuts the way to the backends after it while too much is being tried."""

    def authenticate(
        self, request: HttpRequest | None, username: str | None = None, password: str | None = None, **kwargs: object
    ) -> None:
        if request is not None and username and _must_wait(username, address_of(request), timezone.now()):
            request.axes_locked_out = True  # type: ignore[attr-defined]
            raise PermissionDenied


def _must_wait(username: str, address: str, now: datetime) -> bool:
    lately = AccessFailureLog.objects.filter(attempt_time__gt=now - WITHIN)
    if lately.filter(ip_address=address).count() >= TRIES_OF_AN_ADDRESS:
        return True
    tries = lately.filter(username__iexact=username).order_by("-attempt_time").values_list("attempt_time", flat=True)
    wrong = list(tries[: FREE_TRIES + 10])
    if len(wrong) < FREE_TRIES or _is_known(username, address, now):
        return False
    return now < wrong[0] + min(timedelta(seconds=2 ** (len(wrong) - FREE_TRIES)), LONGEST_WAIT)


def _is_known(username: str, address: str, now: datetime) -> bool:
    came_in = AccessLog.objects.filter(username__iexact=username, ip_address=address)
    return came_in.filter(attempt_time__gt=now - KNOWN_FOR).exists()
