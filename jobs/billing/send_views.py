"""Sending a bill or credit note to the customer."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from jobs.billing.models import Bill
from jobs.job.pages import job_for
from jobs.post.models import MailKind
from jobs.post.pages import ToSend, write_page
from jobs.post.papers import Paper


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def send(request: HttpRequest, pk: int) -> HttpResponse:
    bill = get_object_or_404(Bill.objects.exclude(file="").select_related("job"), pk=pk)
    paper = Paper(
        label=str(bill),
        file_name=f"{bill.kind}-{bill.number}.pdf".replace("/", "-").replace(" ", "-"),
        stored_as=str(bill.file.name),
        sha256=bill.sha256,
        url=reverse("billing:paper", args=[pk]),
    )
    to_send = ToSend(
        kind=MailKind.BILL,
        subject=bill,
        papers=[paper],
        back_url=reverse("billing:bill", args=[pk]),
        values={"bill": str(bill), "total": f"{bill.gross} {bill.currency}"},
    )
    return write_page(request, job_for(bill.job.code), to_send)
