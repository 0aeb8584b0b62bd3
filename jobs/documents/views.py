"""The documents as they went out, the customer's link, and the one page a customer sees."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from garage.files.issued import PaperDamagedError, PaperErasedError
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from garage.record.idempotency import IdempotentForm
from jobs.documents import actions, queries
from jobs.documents.coming_back import come_back
from jobs.documents.first_opening import note_first_opening
from jobs.documents.link_pages import for_the_customer, opened, sections_of
from jobs.documents.models import IssuedDocument
from jobs.documents.settings_on_link import settings_on_link
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
    except PaperErasedError as erased:
        messages.error(request, str(erased))
        return redirect("handover:page", code)
    except PaperDamagedError as damage:
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


@login_not_required
@never_cache
@require_GET
def customer_page(request: HttpRequest, token: str) -> HttpResponse:
    """What the customer's link opens: their car's papers, and nothing else of the workshop."""
    link = opened(token)
    note_first_opening(request, link, timezone.now())
    job = link.job
    papers = queries.documents_for_customer(job)
    sheet = queries.what_was_set(papers)
    context = {
        "job": job,
        "car": job.vehicle,
        "documents": papers,
        "sheet": sheet,
        "settings": settings_on_link(sheet) if sheet else None,
        "sheet_unit": f"no. {sheet['map']['serial_number']}" if sheet else "",
        "token": token,
        "workshop": get_workshop(),
        "come_back": come_back(job),
        "sections": sections_of(job),
    }
    return for_the_customer(render(request, "jobs/documents/customer_page.html", context))


@login_not_required
@never_cache
@require_GET
def customer_document(request: HttpRequest, token: str, pk: int) -> HttpResponse:
    found = get_object_or_404(queries.documents_for_customer(opened(token).job), pk=pk)
    try:
        answer = _pdf(found)
    except PaperDamagedError:
        raise Http404 from None
    return for_the_customer(answer)
