"""The handover's pages, the documents, and the one page a customer sees."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from garage.people.access import may
from garage.people.queries import the_workshop
from garage.people.signature import signature
from garage.site.lan.names import is_local
from garage.site.once import OnceForm
from jobs.card.models import Job, Stage
from jobs.card.pages import crossings_unmet, job_context, job_for
from jobs.handover import actions, queries
from jobs.handover.forms import SignOffForm
from jobs.handover.models import DocumentKind, IssuedDocument
from jobs.handover.shown import state_shown
from jobs.maps import queries as maps
from jobs.strobe import queries as strobe
from timing.sheets.pdf import DocumentLibraryMissing

LINK_IN_SESSION = "customer_link_of_{code}"


def _page(request: HttpRequest, job: Job, status: int = 200, form: SignOffForm | None = None) -> HttpResponse:
    context = job_context(
        request,
        job,
        Stage.HANDOVER,
        in_car=maps.in_car(job),
        final=strobe.final_check(job),
        begin_form=OnceForm(prefix="begin"),
        sign_off=queries.standing_sign_off(job),
        form=form or SignOffForm(),
        shown=state_shown(job),
        once=OnceForm(),
        kinds=DocumentKind,
        documents=job.documents.select_related("issued_by").order_by("-issued_at"),
        unmet=crossings_unmet(job),
        links=job.customer_links.filter(revoked_at=None, expires_at__gt=timezone.now()),
        stays_here=is_local(request.get_host()),
        # Shown once, on the page that follows its making.
        new_link=request.session.pop(LINK_IN_SESSION.format(code=job.code), None),
    )
    return render(request, "jobs/handover/page.html", context, status=status)


@never_cache
@require_GET
def page(request: HttpRequest, code: str) -> HttpResponse:
    return _page(request, job_for(code))


@require_POST
@may("record_readings")
def sign_off(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = SignOffForm(request.POST)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            actions.sign_off(
                job=job,
                id=typed["id"],
                remarks=typed["remarks"],
                signed=signature(request),
                shown=request.POST.get("shown", ""),
            )
        except actions.HandoverRuleError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("handover:page", code)
    return _page(request, job, 422, form)


@require_POST
@may("record_readings")
def issue(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    job = job_for(code)
    form = OnceForm(request.POST)
    if kind not in DocumentKind.values or not form.is_valid():
        raise Http404
    try:
        actions.issue_document(
            job=job, kind=DocumentKind(kind), once=form.cleaned_data["once"], signed=signature(request)
        )
    except (actions.HandoverRuleError, DocumentLibraryMissing) as refusal:
        messages.error(request, str(refusal))
    return redirect("handover:page", code)


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
    except queries.DocumentDamagedError as damage:
        messages.error(request, f"{damage}. It is not shown: issue it again, and look into the data folder.")
        return redirect("handover:page", code)


@require_POST
@may("book_jobs")
def make_link(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = OnceForm(request.POST)
    if not form.is_valid():
        raise Http404
    token = actions.make_link(job=job, once=form.cleaned_data["once"], signed=signature(request))
    if token is not None:
        url = request.build_absolute_uri(reverse("handover:customer-page", args=[token]))
        request.session[LINK_IN_SESSION.format(code=code)] = url
    return redirect("handover:page", code)


@require_POST
@may("book_jobs")
def revoke_links(request: HttpRequest, code: str) -> HttpResponse:
    actions.revoke_links(job=job_for(code), signed=signature(request))
    return redirect("handover:page", code)


@never_cache
@require_GET
def after_care(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    context = job_context(
        request,
        job,
        Stage.AFTER_CARE,
        come_back=queries.come_back(job),
        in_car=maps.in_car(job),
        begin_form=OnceForm(prefix="begin"),
        documents=job.documents.order_by("-issued_at"),
        workshop=the_workshop(),
    )
    return render(request, "jobs/handover/after_care.html", context)


def _opened(token: str) -> Job:
    link = queries.open_link(actions.hash_of(token), timezone.now())
    if link is None:
        raise Http404
    return link.job


def _documents_for_customer(job: Job) -> Any:
    return job.documents.exclude(kind=DocumentKind.BENCH_RECORD).order_by("-issued_at")


@never_cache
@require_GET
def customer_page(request: HttpRequest, token: str) -> HttpResponse:
    """What the customer's link opens: their car's papers, and nothing else of the workshop."""
    job = _opened(token)
    context = {
        "job": job,
        "car": job.vehicle,
        "documents": _documents_for_customer(job),
        "token": token,
        "workshop": the_workshop(),
        "come_back": queries.come_back(job),
    }
    answer = render(request, "jobs/handover/customer_page.html", context)
    answer["Referrer-Policy"] = "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer


@never_cache
@require_GET
def customer_document(request: HttpRequest, token: str, pk: int) -> HttpResponse:
    found = get_object_or_404(_documents_for_customer(_opened(token)), pk=pk)
    try:
        return _pdf(found)
    except queries.DocumentDamagedError:
        raise Http404 from None
