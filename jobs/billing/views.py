"""Billing a job, and a bill with what was paid on it."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from garage.record.models import kind_of
from garage.record.queries import changes_of
from garage.record.refusals import RuleRefusedError
from jobs.billing import actions, payment_actions, queries
from jobs.billing.forms import BillForm, CreditForm, PaymentForm
from jobs.billing.models import Bill, BillKind
from jobs.job.pages import job_context, job_for
from jobs.post.queries import mails_about
from jobs.vat.models import VatRate
from jobs.vat.queries import rates_in_use
from jobs.vat.sums import Sums
from timing.sheets.pdf import DocumentLibraryMissing


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def new(request: HttpRequest, code: str) -> HttpResponse:
    """What a job's next bill would say, its sums, and issuing it."""
    job, workshop, actor = job_for(code), get_workshop(), actor_of(request)
    rates = list(rates_in_use())
    form = BillForm(
        request.POST or None,
        lines=queries.to_bill(job),
        rates=rates,
        days_to_pay=workshop.days_to_pay,
        country=workshop.country,
        buyer_country=job.vehicle.customer.country,
    )
    paper = None
    if form.is_valid():
        typed = form.cleaned_data
        decided = {name: typed[name] for name in ("supplied_on", "due_on", "remarks")}
        decided["buyer_country"] = typed.get("buyer_country", "")
        try:
            if "issue" in request.POST:
                bill = actions.issue_bill(
                    job=job,
                    rates=typed["rates"],
                    idempotency_key=typed["idempotency_key"],
                    date_is_right=typed["date_is_right"],
                    beyond_is_right=typed["beyond_is_right"],
                    actor=actor,
                    **decided,
                )
                messages.success(request, f"Bill {bill.number} issued.")
                return redirect("billing:bill", bill.pk)
            paper = actions.bill_paper(job=job, rates=typed["rates"], at=actor.at, **decided)
        except actions.ClockBehindError as refusal:
            form.ask_about_the_date()
            form.add_error(None, str(refusal))
        except actions.BeyondQuoteError as refusal:
            form.ask_about_the_quote()
            form.add_error(None, str(refusal))
        except (RuleRefusedError, DocumentLibraryMissing) as refusal:
            form.add_error(None, str(refusal))
    context = job_context(
        request,
        job,
        form=form,
        rates=rates,
        sums=paper.sums if paper else None,
        share=paper.share if paper else None,
        sum_rows=_named(paper.sums, rates) if paper else [],
        currency=workshop.currency,
        accounts=queries.accounts_of(list(job.bills.filter(kind=BillKind.BILL))),
        undone=queries.undone_since(job),
    )
    return render(request, "jobs/billing/new.html", context, status=422 if form.errors else 200)


def _named(sums: Sums, rates: list[VatRate]) -> list[dict[str, Any]]:
    names = {rate.pk: rate.name for rate in rates}
    return [
        {"name": names.get(one.rate, ""), "percent": one.percent, "net": one.net, "vat": one.vat} for one in sums.rates
    ]


@require_GET
@permission_required("keep_costs")
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    return _detail(request, get_object_or_404(Bill, pk=pk))


def _detail(request: HttpRequest, bill: Bill, *, refused: PaymentForm | None = None) -> HttpResponse:
    account = queries.account_of(bill)
    context: dict[str, Any] = {
        "bill": bill,
        # a bill of an earlier release, or of an erased customer, says nothing of it
        "missing_for_einvoice": bill.made_from.get("missing_for_einvoice") if bill.file else None,
        "account": account,
        "lines": bill.lines.select_related("rate", "credited__bill"),
        "sums": bill.rate_sums.select_related("rate"),
        "notes": bill.credit_notes.order_by("pk"),
        "payments": queries.payments(bill),
        "may_credit": bill.kind == BillKind.BILL and queries.lines_to_credit(bill).exists(),
        "form": refused or PaymentForm(currency=bill.currency, initial={"amount": abs(account.due)}),
        "changes": changes_of(bill),
        "mails": mails_about(kind_of(bill), bill.pk),
    }
    return render(request, "jobs/billing/bill.html", context, status=422 if refused else 200)


@require_GET
@permission_required("keep_costs")
def paper(request: HttpRequest, pk: int) -> HttpResponse:
    """The PDF as it went out."""
    bill = get_object_or_404(Bill, pk=pk)
    answer = HttpResponse(queries.stored_bill(bill), content_type="application/pdf")
    name = f"{bill.kind.replace(' ', '-')}-{bill.number}".replace("/", "-").replace(" ", "-")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def credit(request: HttpRequest, pk: int) -> HttpResponse:
    bill = get_object_or_404(Bill, pk=pk, kind=BillKind.BILL)
    form = CreditForm(request.POST or None, bill=bill)
    if form.is_valid():
        try:
            note = actions.issue_credit_note(bill=bill, actor=actor_of(request), **form.cleaned_data)
        except actions.ClockBehindError as refusal:
            form.ask_about_the_date()
            form.add_error(None, str(refusal))
        except (RuleRefusedError, DocumentLibraryMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Credit note {note.number} issued.")
            return redirect("billing:bill", note.pk)
    context = {"bill": bill, "form": form, "title": f"Credit note on bill {bill.number}"}
    return render(request, "jobs/billing/credit.html", context, status=422 if form.is_bound else 200)


@require_POST
@permission_required("keep_costs")
def pay(request: HttpRequest, pk: int) -> HttpResponse:
    return _enter(request, pk, refund=False)


@require_POST
@permission_required("keep_costs")
def refund(request: HttpRequest, pk: int) -> HttpResponse:
    return _enter(request, pk, refund=True)


def _enter(request: HttpRequest, pk: int, *, refund: bool) -> HttpResponse:
    bill = get_object_or_404(Bill, pk=pk)
    form = PaymentForm(request.POST, currency=bill.currency)
    if form.is_valid():
        try:
            payment_actions.enter_payment(
                bill=bill, id=form.cleaned_data["id"], refund=refund, actor=actor_of(request), **form.values()
            )
        except payment_actions.PaymentRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("billing:bill", bill.pk)
    return _detail(request, bill, refused=form)


@require_POST
@permission_required("keep_costs")
def withdraw_payment(request: HttpRequest, pk: int, payment: Any) -> HttpResponse:
    found = get_object_or_404(get_object_or_404(Bill, pk=pk).payments, pk=payment, withdrawn=False)
    payment_actions.withdraw_payment(payment=found, actor=actor_of(request))
    return redirect("billing:bill", pk)
