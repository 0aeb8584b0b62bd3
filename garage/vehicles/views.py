"""The cars' pages."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from garage.customers.models import Customer
from garage.lists.pages import page_by_key
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.answers import onward
from garage.record.conflicts import standing
from garage.record.queries import changes_of
from garage.record.row_versions import StaleEditError
from garage.vehicles import actions
from garage.vehicles.car_now import car_now
from garage.vehicles.data_sheet import data_sheet
from garage.vehicles.facts import band_of
from garage.vehicles.forms import CoilForm, DistributorForm, EngineForm, NewVehicleForm, VehicleForm
from garage.vehicles.models import Vehicle

A_PAGE = 40
WITH_PARTS = Vehicle.objects.select_related("customer", "engine", "distributor", "coil")


@require_GET
def vehicles(request: HttpRequest) -> HttpResponse:
    cars = Vehicle.objects.select_related("customer")
    page = page_by_key(cars, request.GET, order=("registration", "pk"), length=A_PAGE)
    return render(request, "garage/vehicles/list.html", {"page": page})


@require_GET
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(WITH_PARTS, pk=pk)
    context = {
        "vehicle": vehicle,
        "now": car_now(vehicle),
        "facts": data_sheet(vehicle, vacuum_unit=getattr(request.user, "vacuum_unit", "kPa")),
        "band": band_of(vehicle),
        "jobs": vehicle.jobs.order_by("-code"),
        "changes": changes_of(vehicle),
        "units": vehicle.units.select_related("revision__unit_type"),
    }
    return render(request, "garage/vehicles/detail.html", context)


def _part_forms(request: HttpRequest, vehicle: Vehicle | None) -> dict[str, forms.ModelForm]:
    data = request.POST or None
    unit = getattr(request.user, "vacuum_unit", "kPa")
    part = {name: getattr(vehicle, name) if vehicle else None for name in actions.PARTS}
    return {
        "engine": EngineForm(data, prefix="engine", instance=part["engine"]),
        "distributor": DistributorForm(data, prefix="distributor", instance=part["distributor"], vacuum_unit=unit),
        "coil": CoilForm(data, prefix="coil", instance=part["coil"]),
    }


def _values(form: forms.ModelForm) -> dict[str, Any]:
    columns = {field.name for field in form._meta.model._meta.fields}
    return {
        name: value for name, value in form.cleaned_data.items() if name in columns - {"idempotency_key", "row_version"}
    }


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def new(request: HttpRequest) -> HttpResponse:
    form = NewVehicleForm(request.POST or None, initial={"customer": request.GET.get("customer")})
    parts = _part_forms(request, None)
    if all([form.is_valid(), *(part.is_valid() for part in parts.values())]):
        vehicle = actions.enter_vehicle(
            idempotency_key=form.cleaned_data["idempotency_key"],
            actor=actor_of(request),
            values=_values(form),
            parts={name: _values(part) for name, part in parts.items()},
        )
        return redirect("vehicles:detail", vehicle.pk)
    context = {"form": form, "parts": parts, "is_new": True, "no_customers": not Customer.objects.exists()}
    return render(request, "garage/vehicles/form.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def edit(request: HttpRequest, pk: int) -> HttpResponse:
    vehicle = get_object_or_404(WITH_PARTS, pk=pk)
    # The forms write what was typed into instances of their own, so that `vehicle` shows what stands.
    form = VehicleForm(
        request.POST or None,
        instance=get_object_or_404(WITH_PARTS, pk=pk),
        initial={"row_version": vehicle.row_version},
    )
    parts = _part_forms(request, get_object_or_404(WITH_PARTS, pk=pk))
    context: dict[str, Any] = {"form": form, "parts": parts, "vehicle": vehicle}
    status = 422 if form.is_bound else 200
    if all([form.is_valid(), *(part.is_valid() for part in parts.values())]):
        try:
            actions.change_vehicle(
                vehicle=vehicle,
                row_version=form.cleaned_data["row_version"],
                values=_values(form),
                parts={name: _values(part) for name, part in parts.items()},
                actor=actor_of(request),
            )
        except StaleEditError:
            context["standing"] = _standing(pk, form, parts)
            form.refuse_as_stale(vehicle.row_version)
            status = 409
        else:
            messages.success(request, "Saved.")
            return redirect(onward(request, reverse("vehicles:detail", args=[pk])))
    context["back_to"] = onward(request, "")
    return render(request, "garage/vehicles/form.html", context, status=status)


def _standing(pk: int, form: forms.ModelForm, parts: dict[str, forms.ModelForm]) -> list[dict[str, Any]]:
    now = get_object_or_404(WITH_PARTS, pk=pk)
    rows = standing(now, form, list(_values(form)))
    for name, part in parts.items():
        rows += standing(getattr(now, name), part, list(_values(part)))
    return rows
