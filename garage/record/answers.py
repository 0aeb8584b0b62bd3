"""Answering a form that was sent by htmx or as a plain form: the one way for both."""

from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme


def answer_form(
    request: HttpRequest, *, saved: bool, page: str, fragment: str, context: Callable[[], Mapping[str, Any]], go_to: str
) -> HttpResponse:
    """Answer a form that was `saved` or refused; `page` holds the whole page and `fragment` the part htmx replaces.

    htmx gets the fragment, with 422 for a refused form. A plain form is led on to the address `go_to` after saving, so
    that reloading sends nothing twice; refused, it gets its page again with what was typed. `context` is asked only
    where something is rendered.
    """
    by_htmx = request.htmx  # type: ignore[attr-defined]
    if saved and not by_htmx:
        return redirect(go_to)
    return render(request, fragment if by_htmx else page, dict(context()), status=200 if saved else 422)


def onward(request: HttpRequest, otherwise: str) -> str:
    """Where the page that sent this wanted to go on, if that is on this site."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    safe = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if safe else otherwise
