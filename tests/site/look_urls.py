"""The site's addresses, with the style page and a form to try the scripts of every page on."""

from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.template import RequestContext, Template
from django.urls import path

from garage.site.styleguide import styleguide
from garage.site.urls import handler400, handler403, handler404, handler500
from garage.site.urls import urlpatterns as of_the_site

PAGE = """{% extends "base.html" %}{% block content %}
<form id="native" method="post" class="form" data-keep="try-native" data-warn-leaving>{% csrf_token %}
<label for="note">Note</label><textarea id="note" name="note">as stored</textarea>
<label for="pin">PIN</label><input id="pin" name="pin" type="password">
<button class="button" type="submit">Store the note</button></form>
<form id="part" hx-post="/try/part/" hx-target="#answer">
<button class="button" type="submit">Store a part</button></form>
<div id="answer"></div>
<form id="plain" method="post" action="/try/plain/" class="form">{% csrf_token %}
<input type="hidden" name="idempotency_key" value="{{ idempotency_key }}">
<label for="words">Words</label><input id="words" name="words" value="{{ words }}">
{% if words %}<p class="field-error">Say more.</p>{% endif %}
<button class="button" type="submit" name="go" value="1">Store the words</button></form>
{% endblock %}"""

received: list[str] = []
plain: list[tuple[str, str, str]] = []


def try_form(request: HttpRequest) -> HttpResponse:
    """Stores any note but 'refuse me', which it answers as a broken server would."""
    if request.method == "POST":
        received.append(request.POST["note"])
        if request.POST["note"] == "refuse me":
            return handler500(request)
        return redirect("try-form")
    return _page(request)


def _page(request: HttpRequest, words: str = "", status: int = 200) -> HttpResponse:
    context = {"idempotency_key": uuid4(), "words": words}
    return HttpResponse(Template(PAGE).render(RequestContext(request, context)), status=status)


def try_plain(request: HttpRequest) -> HttpResponse:
    """A form as most pages have it: says nothing of being kept. One word alone is refused."""
    words = request.POST["words"]
    plain.append((words, request.POST["idempotency_key"], request.POST.get("go", "")))
    return redirect("try-form") if " " in words else _page(request, words, 422)


def try_part(request: HttpRequest) -> HttpResponse:
    received.append("part")
    return HttpResponse("<p>stored</p>")


urlpatterns = [
    path("style/", styleguide, name="style"),
    path("try/", try_form, name="try-form"),
    path("try/part/", try_part, name="try-part"),
    path("try/plain/", try_plain, name="try-plain"),
    *of_the_site,
]

__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]
