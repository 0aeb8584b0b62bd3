"""How much is taken at once, and that it is whole: half a form is never read as if it were all of it."""

import io
from collections.abc import Callable
from typing import BinaryIO, TypeVar

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import Resolver404, resolve

View = TypeVar("View", bound=Callable[..., HttpResponse])
Answer = Callable[[HttpRequest], HttpResponse]

LARGEST_UPLOAD = 25 * 1024 * 1024
# What a form says besides its file.
OF_THE_FORM = 1024 * 1024
LARGEST_REQUEST = LARGEST_UPLOAD + OF_THE_FORM

TOO_LARGE = "More than 25 MB. Take the photograph in a smaller size."


def takes_files_up_to(size: int, too_large: str) -> Callable[[View], View]:
    """Let a view take a larger file than others do [bytes]; `too_large` is said of a larger one.

    Who is not signed in is sent away before the body is read (`garage.site.middleware`).
    """

    def decorate(view: View) -> View:
        view.largest_request = size + OF_THE_FORM  # type: ignore[attr-defined]
        view.too_large = too_large  # type: ignore[attr-defined]
        return view

    return decorate


def largest_request_at(path: str) -> int:
    """How much a request to `path` may announce. [bytes]"""
    return _allowed_at(path)[0]


def _allowed_at(path: str) -> tuple[int, str]:
    try:
        view = resolve(path).func
    except Resolver404:
        return LARGEST_REQUEST, TOO_LARGE
    return getattr(view, "largest_request", LARGEST_REQUEST), getattr(view, "too_large", TOO_LARGE)


def nothing_too_large(get_response: Answer) -> Answer:
    """Stands before whatever reads a form, the guard against forged forms among them.

    A body cannot be longer than it announces: the rest of it is never read. One that announces nothing is empty here.
    One that ends before its announced length is refused while it is read.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        announced, largest, too_large = _announced(request), LARGEST_REQUEST, TOO_LARGE
        if announced > largest:
            largest, too_large = _allowed_at(request.path_info)
        if announced <= largest:
            # Django reads a body through this attribute and through nothing else.
            if announced > 0 and hasattr(request, "_stream"):
                request._stream = WholeBody(request._stream, announced)  # type: ignore[assignment]
            return get_response(request)
        if request.headers.get("Accept", "").startswith("application/json"):
            return JsonResponse({"problem": too_large}, status=413)
        return render(request, "errors/413.html", {"refusal": too_large}, status=413)

    return middleware


class BodyCutShortError(BadRequest):
    """The connection ended before the announced length had come in: '32.5' may have arrived as '3'."""


class WholeBody(io.IOBase):
    """The body of a request, which gives all that was announced or fails. Nothing of a cut body enters the book."""

    def __init__(self, stream: BinaryIO, announced: int) -> None:
        self._stream, self._missing = stream, announced

    def read(self, size: int = -1, /) -> bytes:
        wanted = self._missing if size < 0 else min(size, self._missing)
        # A server gives fewer bytes than are asked for only where no more will come (PEP 3333: as a file does).
        return self._counted(self._stream.read, size, at_least=wanted)

    def readline(self, size: int | None = -1, /) -> bytes:
        return self._counted(self._stream.readline, -1 if size is None else size, at_least=min(1, self._missing))

    def _counted(self, read: Callable[[int], bytes], size: int, at_least: int) -> bytes:
        try:
            part = read(size)
        except OSError as dropped:
            raise BodyCutShortError("The connection was dropped") from dropped
        if size and len(part) < at_least:
            raise BodyCutShortError("The body ended early")
        self._missing -= len(part)
        return part


def _announced(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:  # Django, too, reads nothing then
        return 0
