"""What stands on every bill: its numbers, the time to pay, the owner's words, and the rates of VAT."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from garage.people import actions as people
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.models import Workshop
from garage.record.conflicts import standing
from garage.record.row_versions import StaleEditError
from jobs.billing.forms import BillSettingsForm, RateForm
from jobs.vat import actions as rates
from jobs.vat.models import VatRate


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def settings(request: HttpRequest) -> HttpResponse:
    here = Workshop.objects.get()
    # The form writes what was typed into an instance of its own, so that `here` shows what stands.
    form = BillSettingsForm(
        request.POST or None, instance=Workshop.objects.get(), initial={"row_version": here.row_version}
    )
    status = 422 if form.is_bound else 200
    more: dict[str, Any] = {}
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in form.Meta.fields}
        try:
            people.change_workshop(
                workshop=here, row_version=form.cleaned_data["row_version"], values=values, actor=actor_of(request)
            )
        except StaleEditError:
            form.refuse_as_stale(here.row_version)
            more, status = {"standing": standing(here, form, form.Meta.fields)}, 409
        else:
            messages.success(request, "Saved.")
            return redirect("billing:settings")
    return _page(request, form=form, status=status, **more)


def _page(request: HttpRequest, *, status: int = 200, **more: Any) -> HttpResponse:
    here = Workshop.objects.get()
    context = {
        "form": BillSettingsForm(instance=here, initial={"row_version": here.row_version}),
        "rate_form": RateForm(),
        "rates": VatRate.objects.all(),
        **more,
    }
    return render(request, "jobs/billing/settings.html", context, status=status)


@require_POST
@permission_required("manage_workshop")
def add_rate(request: HttpRequest) -> HttpResponse:
    form = RateForm(request.POST)
    if not form.is_valid():
        return _page(request, status=422, rate_form=form)
    rates.add_rate(actor=actor_of(request), **form.cleaned_data)
    return redirect("billing:settings")


@require_POST
@permission_required("manage_workshop")
def retire_rate(request: HttpRequest, pk: int) -> HttpResponse:
    rates.retire_rate(rate=get_object_or_404(VatRate, pk=pk), actor=actor_of(request))
    return redirect("billing:settings")
