"""Quotes of a job: writing one, a version or a supplement; one as it was sent; and what the customer answered."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import capfirst
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from garage.record.models import kind_of
from garage.record.queries import changes_of
from garage.record.refusals import RuleRefusedError
from jobs.documents.pictures import photographs_taken
from jobs.job.models import Job, JobKind
from jobs.job.pages import job_context, job_for
from jobs.learning.hours import hours_of_kind
from jobs.post.queries import mails_about
from jobs.quotes import actions, answer_actions, queries
from jobs.quotes.forms import (
    AnswerForm,
    LinesFormSet,
    OfferedLines,
    QuoteForm,
    SupplementForm,
    UsualPartForm,
    initial_lines,
)
from jobs.quotes.models import Quote, QuoteKind, UsualPart
from jobs.vat.models import VatRate
from jobs.vat.queries import rates_in_use
from timing.sheets.pdf import DocumentLibraryMissing


@require_GET
@permission_required("keep_costs")
def page(request: HttpRequest, code: str) -> HttpResponse:
    """Every quote and supplement of a job."""
    job = job_for(code)
    context = job_context(
        request,
        job,
        quotes=queries.quotes_of(job),
        agreed=queries.agreed(job),
        has_link=job.customer_links.filter(revoked_at=None).exists(),
    )
    return render(request, "jobs/quotes/page.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def new(request: HttpRequest, code: str) -> HttpResponse:
    """A quote from the usual hours and parts of the job's kind."""
    job = job_for(code)
    return _writing(request, job, QuoteForm, queries.lines_at_first(job, get_workshop().hourly_rate))


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def supplement(request: HttpRequest, code: str) -> HttpResponse:
    """Work beyond what the customer accepted."""
    return _writing(request, job_for(code), SupplementForm, [])


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def version(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Another version of a quote or supplement: the one that was sent stays as it was."""
    job = job_for(code)
    quote = get_object_or_404(job.quotes, pk=pk)
    form = SupplementForm if quote.kind == QuoteKind.SUPPLEMENT else QuoteForm
    return _writing(request, job, form, quote.lines.select_related("rate"), replaces=quote)


def _writing(
    request: HttpRequest, job: Job, form_class: type[QuoteForm], begins_with: Any, *, replaces: Quote | None = None
) -> HttpResponse:
    workshop, rates = get_workshop(), list(rates_in_use())
    usual_rate = rates[0] if rates else None
    said: dict[str, Any] = {"remarks": replaces.remarks, "reason": replaces.reason} if replaces else {}
    more: dict[str, Any] = {}
    if form_class is SupplementForm:
        more["taken"] = photographs_taken(job)
        said["photographs"] = [told["id"] for told in replaces.photographs] if replaces else []
    form = form_class(request.POST or None, initial=said, days=workshop.quote_days, **more)
    lines = _lines_form(request.POST or None, begins_with, usual_rate)
    paper = None
    if form.is_valid() and lines.is_valid():
        typed = actions.Typed(
            kind=form.kind,
            lines=lines.lines(),
            valid_until=form.cleaned_data["valid_until"],
            reason=form.cleaned_data.get("reason", ""),
            remarks=form.cleaned_data["remarks"],
            photographs=form.cleaned_data.get("photographs", []),
        )
        actor = actor_of(request)
        try:
            if "send" in request.POST:
                key = form.cleaned_data["idempotency_key"]
                quote = actions.send_quote(job=job, typed=typed, replaces=replaces, idempotency_key=key, actor=actor)
                messages.success(request, f"{capfirst(str(quote))} sent.")
                return redirect("quotes:quote", job.code, quote.pk)
            paper = actions.quote_paper(job=job, typed=typed, replaces=replaces, at=actor.at)
            # what was typed, with empty lines below it again
            lines = _lines_form(None, typed.lines, usual_rate)
        except (RuleRefusedError, DocumentLibraryMissing) as refusal:
            form.add_error(None, str(refusal))
    refused = form.is_bound and paper is None
    context = job_context(
        request,
        job,
        form=form,
        lines=lines,
        rates=rates,
        replaces=replaces,
        sums=paper.sums if paper else None,
        sum_rows=_named(paper) if paper else [],
        currency=workshop.currency,
        hours_taken=hours_of_kind(JobKind(job.kind), but=job) if form.kind == QuoteKind.QUOTE else None,
    )
    return render(request, "jobs/quotes/write.html", context, status=422 if refused else 200)


def _lines_form(typed: QueryDict | None, begins_with: Any, usual_rate: VatRate | None) -> OfferedLines:
    return LinesFormSet(
        typed,
        initial=initial_lines(begins_with, usual_rate),
        prefix="line",
        form_kwargs={"usual_rate": usual_rate, "currency": get_workshop().currency},
    )


def _named(paper: Any) -> list[dict[str, Any]]:
    names = {line.rate.pk: line.rate.name for line in paper.lines}
    return [
        {"name": names[one.rate], "percent": one.percent, "net": one.net, "vat": one.vat} for one in paper.sums.rates
    ]


@require_GET
@permission_required("keep_costs")
def quote(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    return _quote_page(request, code, pk)


def _quote_page(request: HttpRequest, code: str, pk: int, refused: AnswerForm | None = None) -> HttpResponse:
    job = job_for(code)
    found = get_object_or_404(job.quotes.select_related("issued_by", "replaces"), pk=pk)
    form = refused or AnswerForm(initial={"name": found.buyer_name})
    context = job_context(
        request,
        job,
        quote=found,
        standing=queries.standing_of(found),
        newer=Quote.objects.filter(replaces=found).first(),
        lines=found.lines.all(),
        form=form,
        changes=changes_of(found),
        mails=mails_about(kind_of(found), found.pk),
    )
    return render(request, "jobs/quotes/quote.html", context, status=422 if refused else 200)


@require_GET
@permission_required("keep_costs")
def paper(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """The PDF as it was sent."""
    found = get_object_or_404(job_for(code).quotes, pk=pk)
    answer = HttpResponse(queries.stored_quote(found), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{found.kind}-{found.number}-{found.version}.pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_POST
@permission_required("keep_costs")
def answer(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """What the customer told the workshop."""
    found = get_object_or_404(job_for(code).quotes, pk=pk)
    form = AnswerForm(request.POST)
    if form.is_valid():
        try:
            answer_actions.record_answer(quote=found, actor=actor_of(request), **form.cleaned_data)
        except RuleRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("quotes:quote", code, pk)
    return _quote_page(request, code, pk, refused=form)


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def usual_parts(request: HttpRequest) -> HttpResponse:
    """The parts with which a quote for each kind of job begins."""
    form = UsualPartForm(request.POST or None)
    if form.is_valid():
        typed = form.cleaned_data
        actions.set_usual_part(
            kind=typed["kind"], part=typed["part"].pk, quantity=typed["quantity"], actor=actor_of(request)
        )
        return redirect("quotes:usual-parts")
    context = {"form": form, "parts": UsualPart.objects.select_related("part")}
    return render(request, "jobs/quotes/usual_parts.html", context, status=422 if form.is_bound else 200)
