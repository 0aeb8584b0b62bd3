"""When a customer's link was first opened: one moment, and nothing about who opened it, from where or how often."""

import re
from datetime import datetime

from django.contrib.auth.models import AnonymousUser
from django.db import OperationalError
from django.http import HttpRequest

from garage.people.models import Staff
from jobs.documents.models import CustomerLink

# What programs that read links for a mailbox or a chat call themselves, where they say it.
_CALLS_ITSELF_A_PROGRAM = re.compile(r"bot\b|crawl|spider|preview|scan|monitor", re.IGNORECASE)
# A browser says by these that it fetches a page that nobody has asked for yet (Fetch standard, and an older custom).
_FETCHES_AHEAD = ("Sec-Purpose", "Purpose")


def note_first_opening(request: HttpRequest, link: CustomerLink, at: datetime) -> None:
    """Keep `at` for a link that nobody has opened before.

    Not for somebody of the workshop who looks, nor for a program. A database that is busy with something else keeps no
    customer from the page.
    """
    user: Staff | AnonymousUser = request.user
    if link.first_opened_at or user.is_authenticated or not shows_it_to_somebody(request):
        return
    try:
        CustomerLink.objects.filter(pk=link.pk, first_opened_at=None).update(first_opened_at=at)
    except OperationalError:
        return


def shows_it_to_somebody(request: HttpRequest) -> bool:
    """Whether a page is asked for as a browser does that shows it at once. A program can pretend to be one.

    Browsers name HTML among what they accept (RFC 9110, 12.5.1) and say that they go to a page (Fetch Metadata);
    what checks links or makes previews of them seldom does either.
    """
    said = request.headers
    if request.method != "GET" or "text/html" not in said.get("Accept", ""):
        return False
    if any("prefetch" in said.get(name, "") or "preview" in said.get(name, "") for name in _FETCHES_AHEAD):
        return False
    if said.get("Sec-Fetch-Mode", "navigate") != "navigate":
        return False
    return not _CALLS_ITSELF_A_PROGRAM.search(said.get("User-Agent", ""))
