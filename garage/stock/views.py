"""The stock of parts and units, and one part with its moves."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.pricelist.models import PricedPart
from garage.record.queries import changes_of
from garage.record.refusals import RuleRefusedError
from garage.stock import actions, queries
from garage.stock.forms import BoughtForm, CountForm, LowMarkForm
from garage.units.models import UnitType


@require_GET
@permission_required("keep_costs")
def stock(request: HttpRequest) -> HttpResponse:
    context = {"parts": queries.parts_in_stock(), "units": queries.units_in_stock()}
    return render(request, "garage/stock/list.html", context)


@require_GET
@permission_required("keep_costs")
def part(request: HttpRequest, pk: int) -> HttpResponse:
    return _part_page(request, get_object_or_404(PricedPart, pk=pk, counted=True))


def _part_page(
    request: HttpRequest, part: PricedPart, *, bought: BoughtForm | None = None, counted: CountForm | None = None
) -> HttpResponse:
    context = {
        "part": part,
        "stock": queries.in_stock(part),
        "bought_form": bought or BoughtForm(prefix="bought"),
        "count_form": counted or CountForm(prefix="count"),
        "changes": changes_of(part),
    }
    return render(request, "garage/stock/part.html", context, status=422 if bought or counted else 200)


@require_POST
@permission_required("keep_costs")
def bought(request: HttpRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(PricedPart, pk=pk, counted=True)
    form = BoughtForm(request.POST, prefix="bought")
    if form.is_valid():
        try:
            actions.buy_in(part=part, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
        except RuleRefusedError as refusal:
            form.add_error("quantity", str(refusal))
        else:
            return redirect("stock:part", pk)
    return _part_page(request, part, bought=form)


@require_POST
@permission_required("keep_costs")
def count(request: HttpRequest, pk: int) -> HttpResponse:
    part = get_object_or_404(PricedPart, pk=pk, counted=True)
    form = CountForm(request.POST, prefix="count")
    if form.is_valid():
        try:
            actions.take_stock(part=part, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
        except RuleRefusedError as refusal:
            form.add_error("reason", str(refusal))
        else:
            messages.success(request, "Counted.")
            return redirect("stock:part", pk)
    return _part_page(request, part, counted=form)


@require_http_methods(["GET", "POST"])
@permission_required("keep_costs")
def low_mark(request: HttpRequest, pk: int) -> HttpResponse:
    """From how few units of a type on somebody is told."""
    kind = get_object_or_404(UnitType, pk=pk)
    form = LowMarkForm(request.POST or None, initial={"low_mark": kind.low_mark})
    if form.is_valid():
        actions.set_low_mark(unit_type=kind, low_mark=form.cleaned_data["low_mark"], actor=actor_of(request))
        return redirect("stock:list")
    context = {"form": form, "unit_type": kind}
    return render(request, "garage/stock/low_mark.html", context, status=422 if form.is_bound else 200)
