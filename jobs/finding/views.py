"""The page of what was found, and the part of it that comes while one types."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.finding.search import search

LONGEST = 100


@require_GET
def page(request: HttpRequest) -> HttpResponse:
    text = request.GET.get("q", "").replace("\x00", "").strip()[:LONGEST]
    fragment = getattr(request, "htmx", False)
    template = "jobs/finding/_found.html" if fragment else "jobs/finding/page.html"
    return render(request, template, {"search_text": text, "found": search(text), "on_search_page": True})
