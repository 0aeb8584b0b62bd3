"""Sending a quote or supplement to the customer."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.formats import date_format
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from jobs.job.pages import job_for
from jobs.post.models import MailKind
from jobs.post.pages import ToSend, write_page
from jobs.post.papers import Paper


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def send(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    quote = get_object_or_404(job.quotes.exclude(file=""), pk=pk)
    paper = Paper(
        label=str(quote),
        file_name=f"{quote.kind}-{quote.number}-{quote.version}.pdf".replace("/", "-").replace(" ", "-"),
        stored_as=str(quote.file.name),
        sha256=quote.sha256,
        url=reverse("quotes:paper", args=[code, pk]),
    )
    to_send = ToSend(
        kind=MailKind.QUOTE,
        subject=quote,
        papers=[paper],
        back_url=reverse("quotes:quote", args=[code, pk]),
        values={
            "quote": str(quote),
            "total": f"{quote.gross} {quote.currency}",
            "valid_until": date_format(quote.valid_until, "j F Y"),
        },
    )
    return write_page(request, job, to_send)
