"""When a customer's link was first opened: one moment, and nothing about who opened it, from where or how often."""

from datetime import datetime

from django.contrib.auth.models import AnonymousUser
from django.db import OperationalError
from django.http import HttpRequest

from garage.people.models import Staff
from jobs.documents.models import CustomerLink


def note_first_opening(request: HttpRequest, link: CustomerLink, at: datetime) -> None:
    """Keep `at` for a link that nobody has opened before.

    Not for somebody of the workshop who looks, nor for a browser that fetches ahead. A database that is busy with
    something else keeps no customer from the page.
    """
    user: Staff | AnonymousUser = request.user
    fetches_ahead = "prefetch" in request.headers.get("Sec-Purpose", "")
    if link.first_opened_at or user.is_authenticated or fetches_ahead:
        return
    try:
        CustomerLink.objects.filter(pk=link.pk, first_opened_at=None).update(first_opened_at=at)
    except OperationalError:
        return
