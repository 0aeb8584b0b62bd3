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

from garage.people.models import NEEDS_THE_PASSWORD, Staff

View = Callable[..., HttpResponse]


def permission_required(permission: str) -> Callable[[View], View]:
    """Let in only people whose role carries `garage.<permission>`; everybody else gets the page of a 403.

    Django's decorator of this name, and the password asked for where a PIN is not enough. That somebody is signed in
    and has a role at all is seen to for every page by `garage.site.middleware`.
    """

    def decorate(view: View) -> View:
        open_view = django_permission_required(f"garage.{permission}", raise_exception=True)(view)

        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            user = request.user
            if isinstance(user, Staff) and user.by_pin and _password_would_do(user, f"garage.{permission}"):
                messages.info(request, "This page needs your password. A PIN is not enough.")
                return redirect(f"{resolve_url('people:sign-in')}?next={quote(request.get_full_path())}")
            return open_view(request, *args, **kwargs)

        guarded.needed_permission = permission  # type: ignore[attr-defined]
        return guarded

    return decorate


def _password_would_do(user: Staff, permission: str) -> bool:
    return permission in NEEDS_THE_PASSWORD and user.role_allows(permission)


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
    if permission is None:
        return True
    asked = f"garage.{permission}"
    return user.has_perm(asked) or (isinstance(user, Staff) and user.by_pin and _password_would_do(user, asked))
