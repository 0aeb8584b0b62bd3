"""Where somebody goes on to after they were asked who they are."""

from django.contrib import messages
from django.http import HttpRequest
from django.shortcuts import resolve_url

from garage.people.models import Staff
from garage.record.answers import onward


def way_on(request: HttpRequest) -> str:
    """Where the person wanted to go, if that is on this site; else the board."""
    return onward(request, resolve_url("board:board"))


def way_in(request: HttpRequest, person: Staff) -> str:
    """Where a sign-in leads: to a password of one's own first, where somebody else chose the one in use."""
    if person.first_password_until:
        messages.info(request, "Set a password of your own. The first one expires in a few days.")
        return resolve_url("people:account")
    return way_on(request)
