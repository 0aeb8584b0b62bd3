"""Who may come in, and from which device: asked once for every page, so that no view can forget it."""

import time
import uuid
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import redirect, render
from django.utils.cache import patch_cache_control
from django.utils.crypto import constant_time_compare

from garage.files.storage import StorageError
from garage.people.models import Staff
from garage.people.pin import mark_of
from garage.people.second_step import OWED
from garage.record.refusals import RuleRefusedError

Answer = Callable[[HttpRequest], HttpResponse]
View = Callable[..., HttpResponseBase]

DEVICE_COOKIE = "bench_device"
NOTHING_BUT_THE_CAMERA = ", ".join(
    [
        "camera=(self)",
        *(f"{name}=()" for name in ("microphone", "geolocation", "payment", "usb", "serial")),
    ]
)
NOTED_EVERY = 5 * 60  # [seconds] how exactly it is known when somebody was last here
TEN_YEARS = 60 * 60 * 24 * 3652


class SignedInWithARole(LoginRequiredMiddleware):
    """Every page asks for a sign-in and a role, except those whose view says `login_not_required`.

    It stands before the check of the form's token: a form that was sent after the session ended, or after somebody
    else signed in, is first of all told to sign in.
    """

    def process_view(
        self, request: HttpRequest, view_func: View, view_args: Any, view_kwargs: Any
    ) -> HttpResponseBase | None:
        _end_what_an_old_pin_opened(request)
        _end_what_lay_idle(request)
        to_sign_in = super().process_view(request, view_func, view_args, view_kwargs)
        if to_sign_in is not None:
            return _for_scripts(request, to_sign_in)
        # An account without a role opens nothing: not a page, not a photograph.
        if getattr(view_func, "login_required", True) and not request.user.get_all_permissions():
            raise PermissionDenied
        if request.session.get(OWED) and getattr(view_func, "login_required", True):
            return _to_the_second_factor(request, view_func)
        return None


def _to_the_second_factor(request: HttpRequest, view_func: View) -> HttpResponseBase | None:
    """Where the workshop requires one, no other page opens before it is set up."""
    if getattr(view_func, "opens_while_owed", False):
        return None
    return _for_scripts(request, redirect("people:second-factor"))


def _end_what_an_old_pin_opened(request: HttpRequest) -> None:
    mark, person = request.session.get("by_pin"), request.user
    if mark is None or not isinstance(person, Staff):
        return
    if person.bench_pin and constant_time_compare(mark, mark_of(person)):
        person.by_pin = True
    else:
        logout(request)


def _end_what_lay_idle(request: HttpRequest) -> None:
    if not request.user.is_authenticated or _asks_by_itself(request):
        return
    now = int(time.time())
    seen = request.session.get("seen")
    if seen is not None and now - seen > settings.SESSION_IDLE_AFTER:
        logout(request)
    elif seen is None or now - seen > NOTED_EVERY:
        request.session["seen"] = now


def _asks_by_itself(request: HttpRequest) -> bool:
    """An open sheet asks every few seconds for what others entered, with nobody before it."""
    return request.method == "GET" and _wants_json(request)


def _for_scripts(request: HttpRequest, to_sign_in: HttpResponseBase) -> HttpResponseBase:
    """The redirect to the sign-in, as those understand it who do not show the page they asked for."""
    if _wants_json(request):
        # The tablet's queue keeps its entries and asks for a sign-in; a redirect would look like success to it.
        return JsonResponse({"problem": "signed out"}, status=401)
    if request.headers.get("HX-Request"):
        return HttpResponse(status=204, headers={"HX-Redirect": to_sign_in["Location"]})
    return to_sign_in


class RefusalsAreAnswered:
    """A refusal that no view has shown beside its form gets a page, or JSON, that says the sentence."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        if isinstance(exception, RuleRefusedError):
            return _refused(request, str(exception), 409)
        if isinstance(exception, StorageError):
            # To a tablet that is no answer: it keeps the entry and tries again.
            return _refused(request, str(exception), 503)
        return None


def _refused(request: HttpRequest, sentence: str, status: int) -> HttpResponse:
    if _wants_json(request):
        return JsonResponse({"problem": sentence}, status=status)
    return render(request, "errors/409.html", {"refusal": sentence}, status=status)


def _wants_json(request: HttpRequest) -> bool:
    return request.headers.get("Accept", "").startswith("application/json")


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


def nothing_but_the_camera(get_response: Answer) -> Answer:
    """The pages photograph, and ask a browser for nothing else of the device."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.setdefault("Permissions-Policy", NOTHING_BUT_THE_CAMERA)
        return response

    return middleware


def device_is_known(get_response: Answer) -> Answer:
    """Gives every browser a lasting name of its own, so that the journal can say from which tablet a fact came."""

    def middleware(request: HttpRequest) -> HttpResponse:
        known = request.get_signed_cookie(DEVICE_COOKIE, default="", salt="device")
        request.device_id = uuid.UUID(known) if known else uuid.uuid4()  # type: ignore[attr-defined]
        response = get_response(request)
        # A customer who opens a link writes nothing, and keeps nothing of the workshop's.
        if not known and request.user.is_authenticated:
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
