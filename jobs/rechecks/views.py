"""The cars that are due for a check."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from jobs.rechecks.queries import rechecks


@require_GET
def page(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    rows = [{"recheck": one, "is_due": one.is_due(today)} for one in rechecks(today)]
    return render(request, "jobs/rechecks/page.html", {"rows": rows})
