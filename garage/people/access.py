"""Who may do what, asked in one word above a view: `@may("record_readings")`."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

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
            return view(request, *args, **kwargs)

        return guarded

    return decorate
