"""The documents as they went out, the customer's link, and the one page a customer sees."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from garage.record.idempotency import IdempotentForm
from jobs.documents import actions, queries
from jobs.documents.coming_back import come_back
from jobs.documents.models import IssuedDocument
from jobs.job.models import Job
from jobs.job.pages import job_for

LINK_IN_SESSION = "customer_link_of_{code}"


def _pdf(document: IssuedDocument) -> HttpResponse:
    answer = HttpResponse(queries.stored_bytes(document), content_type="application/pdf")
    name = f"{document.job.code} {document.kind} {document.number}.pdf".replace(" ", "-")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_GET
def document(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    found = get_object_or_404(job.documents, pk=pk)
    try:
        return _pdf(found)
    except queries.DocumentErasedError as erased:
        messages.error(request, str(erased))
        return redirect("handover:page", code)
    except queries.DocumentDamagedError as damage:
        messages.error(request, f"{damage}. Issue it again and check the data folder.")
        return redirect("handover:page", code)


@require_POST
@permission_required("book_jobs")
def make_link(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = IdempotentForm(request.POST)
    if not form.is_valid():
        raise Http404
    token = actions.make_link(job=job, idempotency_key=form.cleaned_data["idempotency_key"], actor=actor_of(request))
    if token is not None:
        url = request.build_absolute_uri(reverse("documents:customer-page", args=[token]))
        request.session[LINK_IN_SESSION.format(code=code)] = url
    return redirect("handover:page", code)


@require_POST
@permission_required("book_jobs")
def revoke_links(request: HttpRequest, code: str) -> HttpResponse:
    actions.revoke_links(job=job_for(code), actor=actor_of(request))
    return redirect("handover:page", code)


def _opened(token: str) -> Job:
    link = queries.open_link(actions.hash_of(token), timezone.now())
    if link is None:
        raise Http404
    return link.job


@login_not_required
@never_cache
@require_GET
def customer_page(request: HttpRequest, token: str) -> HttpResponse:
    """What the customer's link opens: their car's papers, and nothing else of the workshop."""
    job = _opened(token)
    papers = queries.documents_for_customer(job)
    sheet = queries.what_was_set(papers)
    context = {
        "job": job,
        "car": job.vehicle,
        "documents": papers,
        "sheet": sheet,
        "sheet_unit": f"no. {sheet['map']['serial_number']}" if sheet else "",
        "token": token,
        "workshop": get_workshop(),
        "come_back": come_back(job),
    }
    answer = render(request, "jobs/documents/customer_page.html", context)
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer


@login_not_required
@never_cache
@require_GET
def customer_document(request: HttpRequest, token: str, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.documents_for_customer(_opened(token)), pk=pk)
    try:
        answer = _pdf(found)
    except queries.DocumentDamagedError:
        raise Http404 from None
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer
