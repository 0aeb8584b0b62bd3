"""The customers' pages."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from garage.customers import actions
from garage.customers.forms import CustomerForm, NewCustomerForm
from garage.customers.models import Customer
from garage.lists.pages import page_by_key
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.conflicts import standing
from garage.record.queries import changes_of
from garage.record.row_versions import StaleEditError

A_PAGE = 40


@require_GET
def customers(request: HttpRequest) -> HttpResponse:
    here = Customer.objects.filter(forgotten_at=None).prefetch_related("vehicles")
    page = page_by_key(here, request.GET, order=("name", "pk"), length=A_PAGE)
    return render(request, "garage/customers/list.html", {"page": page})


@require_GET
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    customer = get_object_or_404(Customer, pk=pk)
    context = {"customer": customer, "vehicles": customer.vehicles.all(), "changes": changes_of(customer)}
    return render(request, "garage/customers/detail.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def new(request: HttpRequest) -> HttpResponse:
    form = NewCustomerForm(request.POST or None)
    if form.is_valid():
        customer = actions.enter_customer(actor=actor_of(request), **form.cleaned_data)
        if "then_car" in request.POST:
            return redirect(f"/vehicles/new/?customer={customer.pk}")
        return redirect("customers:detail", customer.pk)
    return render(
        request, "garage/customers/form.html", {"form": form, "is_new": True}, status=422 if form.is_bound else 200
    )


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    customer = get_object_or_404(Customer, pk=pk, forgotten_at=None)
    form = CustomerForm(
        request.POST or None, instance=get_object_or_404(Customer, pk=pk), initial={"row_version": customer.row_version}
    )
    context: dict[str, Any] = {"form": form, "customer": customer}
    status = 422 if form.is_bound else 200
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in form.Meta.fields}
        try:
            actions.change_customer(
                customer=customer, row_version=form.cleaned_data["row_version"], values=values, actor=actor_of(request)
            )
        except StaleEditError:
            form.refuse_as_stale(customer.row_version)
            context["standing"], status = standing(customer, form, form.Meta.fields), 409
        else:
            messages.success(request, "Saved.")
            return redirect("customers:detail", pk)
    return render(request, "garage/customers/form.html", context, status=status)
