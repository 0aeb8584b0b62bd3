"""The page of hours and parts: the front desk's and the owner's."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from garage.people.access import may
from garage.people.queries import the_workshop
from garage.people.signature import signature
from jobs.card.pages import job_context, job_for
from jobs.costs import actions
from jobs.costs.forms import CostForm
from jobs.costs.queries import costs


@require_http_methods(["GET", "POST"])
@may("keep_costs")
def page(request: HttpRequest, code: str) -> HttpResponse:
    job, workshop = job_for(code), the_workshop()
    form = CostForm(request.POST or None, hourly_rate=workshop.hourly_rate, currency=workshop.currency)
    if form.is_valid():
        actions.enter_cost(job=job, id=form.cleaned_data["id"], signed=signature(request), **form.values())
        return redirect("costs:page", code)
    context = job_context(request, job, form=form, costs=costs(job), currency=workshop.currency, next_action=None)
    return render(request, "jobs/costs/page.html", context, status=422 if form.is_bound else 200)


@require_POST
@may("keep_costs")
def withdraw(request: HttpRequest, code: str, pk: Any) -> HttpResponse:
    job = job_for(code)
    actions.withdraw_cost(line=get_object_or_404(job.cost_lines, pk=pk), signed=signature(request))
    return redirect("costs:page", code)
