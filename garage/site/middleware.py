"""Who may come in, and from which device: asked once for every page, so that no view can forget it."""

import uuid
from collections.abc import Callable
from urllib.parse import quote

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import resolve_url
from django.urls import Resolver404, resolve
from django.utils.cache import patch_cache_control

Answer = Callable[[HttpRequest], HttpResponse]

# The pages a person without an account may see. Everything else asks for a sign-in, whatever its view says.
OPEN_TO_ALL = frozenset(
    {
        "health",
        "people:sign-in",
        "people:set-up",
        "documents:customer-page",
        "documents:customer-document",
        "checklists:service-worker",
    }
)

DEVICE_COOKIE = "bench_device"
TEN_YEARS = 60 * 60 * 24 * 3652


def everybody_signs_in(get_response: Answer) -> Answer:
    def middleware(request: HttpRequest) -> HttpResponse:
        if _open_to_all(request):
            return get_response(request)
        if request.user.is_authenticated:
            # An account without a role opens nothing: not a page, not a photograph.
            if request.user.get_all_permissions() or _view_name(request) == "people:sign-out":
                return get_response(request)
            raise PermissionDenied
        if request.headers.get("Accept", "").startswith("application/json"):
            # The tablet's queue keeps its entries and asks for a sign-in; a redirect would look like success to it.
            return JsonResponse({"problem": "signed out"}, status=401)
        target = f"{resolve_url(settings.LOGIN_URL)}?next={quote(request.get_full_path())}"
        if request.headers.get("HX-Request"):
            return HttpResponse(status=204, headers={"HX-Redirect": target})
        return HttpResponseRedirect(target)

    return middleware


def _open_to_all(request: HttpRequest) -> bool:
    if request.path_info.startswith(settings.STATIC_URL):
        return True
    return _view_name(request) in OPEN_TO_ALL


def _view_name(request: HttpRequest) -> str:
    try:
        return resolve(request.path_info).view_name
    except Resolver404:
        return ""


def nobody_keeps_pages(get_response: Answer) -> Answer:
    """Nothing between here and the screen keeps a page: after a sign-out, the back button of a shared tablet asks anew.

    What may be kept says so itself.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if not response.has_header("Cache-Control"):
            patch_cache_control(response, private=True, no_store=True)
        return response

    return middleware


def device_is_known(get_response: Answer) -> Answer:
    """Gives every browser a lasting name of its own, so that the journal can say from which tablet a fact came."""

    def middleware(request: HttpRequest) -> HttpResponse:
        known = request.get_signed_cookie(DEVICE_COOKIE, default="", salt="device")
        request.device_id = uuid.UUID(known) if known else uuid.uuid4()  # type: ignore[attr-defined]
        response = get_response(request)
        if not known:
            response.set_signed_cookie(
                DEVICE_COOKIE,
                str(request.device_id),  # type: ignore[attr-defined]
                salt="device",
                max_age=TEN_YEARS,
                httponly=True,
                secure=settings.HTTPS,
                samesite="Lax",
            )
        return response

    return middleware
