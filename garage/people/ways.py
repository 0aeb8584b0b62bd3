"""Where somebody goes on to after they were asked who they are."""

from django.contrib import messages
from django.http import HttpRequest
from django.shortcuts import resolve_url
from django.utils.http import url_has_allowed_host_and_scheme

from garage.people.models import Staff


def way_on(request: HttpRequest) -> str:
    """Where the person wanted to go, if that is on this site; else the board."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    safe = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if safe else resolve_url("board:board")


def way_in(request: HttpRequest, person: Staff) -> str:
    """Where a sign-in leads: to a password of one's own first, where somebody else chose the one in use."""
    if person.first_password_until:
        messages.info(request, "Set a password of your own. The first one expires in a few days.")
        return resolve_url("people:account")
    return way_on(request)
