"""The figures, for whoever holds the token."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare
from django.views.decorators.http import require_safe

from garage.watching import metrics as figures


@login_not_required
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    if not settings.METRICS_TOKEN:
        raise Http404
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    if scheme.lower() != "bearer" or not constant_time_compare(token.strip(), settings.METRICS_TOKEN):
        return HttpResponse(status=401, headers={"WWW-Authenticate": "Bearer"})
    return HttpResponse(figures.exposition(), content_type=figures.CONTENT_TYPE)
