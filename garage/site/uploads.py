"""How much is taken at once: what announces itself as larger is refused before any of it is read."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

Answer = Callable[[HttpRequest], HttpResponse]

LARGEST_UPLOAD = 25 * 1024 * 1024
# What a form says besides its file.
LARGEST_REQUEST = LARGEST_UPLOAD + 1024 * 1024

TOO_LARGE = "More than 25 MB. Take the photograph in a smaller size."


def nothing_too_large(get_response: Answer) -> Answer:
    """Stands before whatever reads a form, the guard against forged forms among them.

    A body cannot be longer than it announces: the rest of it is never read. One that announces nothing is empty here.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        if _announced(request) <= LARGEST_REQUEST:
            return get_response(request)
        if request.headers.get("Accept", "").startswith("application/json"):
            return JsonResponse({"problem": TOO_LARGE}, status=413)
        return render(request, "errors/413.html", {"refusal": TOO_LARGE}, status=413)

    return middleware


def _announced(request: HttpRequest) -> int:
    try:
        return int(request.META.get("CONTENT_LENGTH") or 0)
    except ValueError:  # Django, too, reads nothing then
        return 0
