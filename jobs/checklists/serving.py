"""Answering with a picture: only ever that, and never one that is not as it was saved."""

from collections.abc import Callable
from typing import TypeVar

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render

from jobs.checklists import stored
from jobs.checklists.models import KeptPhotograph

Kept = TypeVar("Kept", bound=KeptPhotograph)
Served = TypeVar("Served", bound=HttpResponseBase)


def photograph_answer(request: HttpRequest, found: Kept, bytes_of: Callable[[Kept], bytes]) -> HttpResponse:
    """The photograph `found`, or the page that says what is wrong with it."""
    try:
        return as_picture(HttpResponse(bytes_of(found), content_type="image/jpeg"))
    except stored.PhotographDamagedError as damage:
        return render(request, "errors/damaged.html", {"damage": str(damage)}, status=404)


def as_picture(response: Served) -> Served:
    """Only ever a picture, whatever a browser would like to make of it; asked for again after a sign-out."""
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Disposition"] = "inline"
    response["Cache-Control"] = "private, no-cache"
    return response
