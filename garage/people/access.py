"""Who may do what, asked in one word above a view: `@may("record_readings")`."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import quote

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url

# Four digits typed at a shared tablet open the record of a car, but not the workshop itself.
WANTS_THE_PASSWORD = frozenset({"manage_workshop"})

View = Callable[..., HttpResponse]


def may(permission: str) -> Callable[[View], View]:
    """Let in only people whose role carries `garage.<permission>`; everybody else gets the page of a 403.

    That somebody is signed in and has a role at all is seen to for every page by `garage.site.middleware`.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.has_perm(f"garage.{permission}"):
                raise PermissionDenied
            if permission in WANTS_THE_PASSWORD and request.session.get("by_pin"):
                messages.info(request, "This page wants your password: a bench PIN is not enough here.")
                return redirect(f"{resolve_url('people:sign-in')}?next={quote(request.get_full_path())}")
            return view(request, *args, **kwargs)

        return guarded

    return decorate
