"""Who may do what: said above a view by `@permission_required("record_readings")`, and asked by what leads to it."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import quote, urlsplit

from django.contrib import messages
from django.contrib.auth.decorators import permission_required as django_permission_required
from django.contrib.auth.models import AnonymousUser, PermissionsMixin
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url
from django.urls import Resolver404, resolve

# Four digits typed at a shared tablet open the record of a car, but not the workshop itself.
WANTS_THE_PASSWORD = frozenset({"manage_workshop"})

View = Callable[..., HttpResponse]


def permission_required(permission: str) -> Callable[[View], View]:
    """Let in only people whose role carries `garage.<permission>`; everybody else gets the page of a 403.

    Django's decorator of this name, and the password asked for where a PIN is not enough. That somebody is signed in
    and has a role at all is seen to for every page by `garage.site.middleware`.
    """

    def decorate(view: View) -> View:
        @django_permission_required(f"garage.{permission}", raise_exception=True)
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if permission in WANTS_THE_PASSWORD and request.session.get("by_pin"):
                messages.info(request, "This page needs your password. A PIN is not enough.")
                return redirect(f"{resolve_url('people:sign-in')}?next={quote(request.get_full_path())}")
            return view(request, *args, **kwargs)

        guarded.needed_permission = permission  # type: ignore[attr-defined]
        return guarded

    return decorate


def open_to(user: PermissionsMixin | AnonymousUser, url: str) -> bool:
    """Whether `user` may open `url`, a place on this site: to whom it is shut, it is not offered."""
    path = urlsplit(url).path
    if not path:  # a place on the page one is on
        return True
    try:
        view = resolve(path).func
    except Resolver404:
        return False
    permission = getattr(view, "needed_permission", None)
    return permission is None or user.has_perm(f"garage.{permission}")
