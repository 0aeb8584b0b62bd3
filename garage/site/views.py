"""Error pages that say what happened and offer a way back, and nothing about the machinery."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/400.html", status=400)


def permission_denied(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/403.html", status=403)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    return render(request, "errors/403_csrf.html", status=403)


def page_not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return render(request, "errors/404.html", status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    # No context processors: whatever broke may be one of them.
    return HttpResponse(_plain("errors/500.html", number=getattr(request, "number", "")), status=500)


def _plain(template: str, **words: str) -> str:
    from django.template.loader import get_template

    return get_template(template).render(words)
