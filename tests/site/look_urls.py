"""The site's addresses, with the style page and a form to try the scripts of every page on."""

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
{% endblock %}"""

received: list[str] = []


def try_form(request: HttpRequest) -> HttpResponse:
    """Stores any note but 'refuse me', which it answers as a broken server would."""
    if request.method == "POST":
        received.append(request.POST["note"])
        if request.POST["note"] == "refuse me":
            return handler500(request)
        return redirect("try-form")
    return HttpResponse(Template(PAGE).render(RequestContext(request)))


def try_part(request: HttpRequest) -> HttpResponse:
    received.append("part")
    return HttpResponse("<p>stored</p>")


urlpatterns = [
    path("style/", styleguide, name="style"),
    path("try/", try_form, name="try-form"),
    path("try/part/", try_part, name="try-part"),
    *of_the_site,
]

__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]
