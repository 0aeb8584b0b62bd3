"""The price list and its parts."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import get_workshop
from garage.pricelist import actions
from garage.pricelist.forms import NewPartForm, PartForm
from garage.pricelist.models import PricedPart
from garage.record.conflicts import standing
from garage.record.queries import changes_of
from garage.record.row_versions import StaleEditError


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def parts(request: HttpRequest) -> HttpResponse:
    form = NewPartForm(request.POST or None)
    if form.is_valid():
        actions.add_part(actor=actor_of(request), **form.cleaned_data)
        return redirect("pricelist:list")
    context = {"form": form, "parts": PricedPart.objects.all(), "currency": get_workshop().currency}
    return render(request, "garage/pricelist/list.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def part(request: HttpRequest, pk: int) -> HttpResponse:
    here = get_object_or_404(PricedPart, pk=pk)
    # The form writes what was typed into an instance of its own, so that `here` shows what stands.
    form = PartForm(
        request.POST or None,
        instance=get_object_or_404(PricedPart, pk=pk),
        initial={"row_version": here.row_version},
    )
    context: dict[str, Any] = {"form": form, "part": here, "changes": changes_of(here)}
    status = 422 if form.is_bound else 200
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in form.Meta.fields}
        try:
            actions.change_part(
                part=here, row_version=form.cleaned_data["row_version"], values=values, actor=actor_of(request)
            )
        except StaleEditError:
            form.refuse_as_stale(here.row_version)
            context["standing"], status = standing(here, form, form.Meta.fields), 409
        else:
            messages.success(request, "Saved.")
            return redirect("pricelist:list")
    return render(request, "garage/pricelist/part.html", context, status=status)
