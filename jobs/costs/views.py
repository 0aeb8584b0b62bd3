"""Hours and parts with their prices, for the desk; and the hours alone, for the people who work them."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from garage.pricelist.models import PricedPart
from garage.stock.queries import in_stock
from jobs.costs import actions
from jobs.costs.forms import CostForm, HoursForm
from jobs.costs.models import CostKind
from jobs.costs.queries import costs
from jobs.job.pages import job_context, job_for


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def page(request: HttpRequest, code: str) -> HttpResponse:
    job, workshop = job_for(code), get_workshop()
    form = CostForm(request.POST or None, hourly_rate=workshop.hourly_rate, currency=workshop.currency)
    if form.is_valid():
        actions.enter_cost(job=job, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
        _say_what_is_missing(request, form.cleaned_data.get("part"))
        return redirect("costs:page", code)
    context = job_context(request, job, form=form, costs=costs(job), currency=workshop.currency)
    return render(request, "jobs/costs/page.html", context, status=422 if form.is_bound else 200)


def _say_what_is_missing(request: HttpRequest, part: PricedPart | None) -> None:
    if part is not None and part.counted and in_stock(part).is_below_nought:
        messages.warning(request, f"The book has no {part} left. Count the stock.")


@require_POST
@permission_required("keep_costs")
def withdraw(request: HttpRequest, code: str, pk: Any) -> HttpResponse:
    job = job_for(code)
    actions.withdraw_cost(line=get_object_or_404(job.cost_lines, pk=pk), actor=actor_of(request))
    return redirect("costs:page", code)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def hours(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = HoursForm(request.POST or None, hourly_rate=get_workshop().hourly_rate)
    if form.is_valid():
        actions.enter_cost(job=job, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
        return redirect("costs:hours", code)
    context = job_context(request, job, form=form, costs=costs(job))
    return render(request, "jobs/costs/hours.html", context, status=422 if form.is_bound else 200)


@require_POST
@permission_required("record_readings")
def withdraw_hours(request: HttpRequest, code: str, pk: Any) -> HttpResponse:
    """Take back hours of one's own; those of others are the desk's to put right."""
    own = job_for(code).cost_lines.filter(kind=CostKind.HOURS, by_id=request.user.pk)
    actions.withdraw_cost(line=get_object_or_404(own, pk=pk), actor=actor_of(request))
    return redirect("costs:hours", code)
