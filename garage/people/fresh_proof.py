"""Before what could cost the workshop its book, the person proves anew who they are: a tablet may lie about."""

import time
from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import quote, urlsplit

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme

View = Callable[..., HttpResponse]

LASTS = 15 * 60  # [seconds]
PROVED = "proved_at"  # in the session's data


def note_proof(request: HttpRequest) -> None:
    request.session[PROVED] = int(time.time())


def is_fresh(request: HttpRequest) -> bool:
    """Whether password, and second factor where there is one, were shown here in the last quarter of an hour."""
    return "by_pin" not in request.session and time.time() - request.session.get(PROVED, 0) < LASTS


def fresh_proof_required(view: View) -> View:
    """Ask who it is before the page opens, and come back to it."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return view(request, *args, **kwargs) if is_fresh(request) else to_the_proof(request)

    return guarded


def to_the_proof(request: HttpRequest) -> HttpResponse:
    """The page that asks. A PIN is lifted by a whole sign-in."""
    if request.method != "GET":
        messages.info(request, "Not saved: confirm that it is you, then send it again.")
    page = "people:sign-in" if "by_pin" in request.session else "people:prove"
    return redirect(f"{resolve_url(page)}?next={quote(_page_of(request))}")


def _page_of(request: HttpRequest) -> str:
    """The page one is on: where a form was sent from, if this site says so."""
    if request.method == "GET":
        return request.get_full_path()
    came_from = request.headers.get("Referer", "")
    if url_has_allowed_host_and_scheme(came_from, {request.get_host()}, require_https=request.is_secure()):
        return urlsplit(came_from).path or "/"
    return resolve_url("people:account")
