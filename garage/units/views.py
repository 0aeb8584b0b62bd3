"""The pages of the unit types and of the units themselves."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.lists.pages import page_by_key
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.queries import changes_of
from garage.record.row_versions import StaleEditError
from garage.units import actions, queries
from garage.units.descriptions import described
from garage.units.forms import UnitForm, UnitNotesForm, UnitTypeForm, initial_of, newest_revisions
from garage.units.models import FittedUnit

A_PAGE = 40


@require_GET
def page(request: HttpRequest) -> HttpResponse:
    units = page_by_key(queries.units(), request.GET, order=("serial_number", "pk"), length=A_PAGE)
    context = {"unit_types": queries.unit_types(), "page": units, "can_enter": newest_revisions().exists()}
    return render(request, "garage/units/list.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("edit_unit_types")
def new_type(request: HttpRequest) -> HttpResponse:
    form = UnitTypeForm(request.POST or None)
    if form.is_valid():
        typed = {name: form.cleaned_data[name] for name in ("name", "holds", "idempotency_key")}
        try:
            revision = actions.describe_unit_type(actor=actor_of(request), **typed)
        except actions.UnitRuleError as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, f"{revision.unit_type} added.")
            return redirect("units:type", revision.unit_type_id)
    return render(request, "garage/units/type_form.html", {"form": form}, status=422 if form.is_bound else 200)


@require_GET
def unit_type(request: HttpRequest, pk: int) -> HttpResponse:
    kind = queries.unit_type(pk)
    revisions = [
        {"revision": revision, "facts": described(revision.holds()), "entries": revision.holds().entries}
        for revision in kind.revisions.all()
    ]
    return render(request, "garage/units/type.html", {"unit_type": kind, "revisions": revisions})


@require_http_methods(["GET", "POST"])
@permission_required("edit_unit_types")
def revise(request: HttpRequest, pk: int) -> HttpResponse:
    kind = queries.unit_type(pk)
    initial = {"name": kind.name, **initial_of(queries.newest_revision(kind).holds())}
    form = UnitTypeForm(request.POST or None, unit_type=kind, initial=initial)
    form.fields["name"].disabled = True
    if form.is_valid():
        actions.revise_unit_type(
            unit_type=kind,
            holds=form.cleaned_data["holds"],
            reason=form.cleaned_data["reason"],
            idempotency_key=form.cleaned_data["idempotency_key"],
            actor=actor_of(request),
        )
        return redirect("units:type", pk)
    context = {"form": form, "unit_type": kind}
    return render(request, "garage/units/type_form.html", context, status=422 if form.is_bound else 200)


@require_POST
@permission_required("edit_unit_types")
def retire(request: HttpRequest, pk: int) -> HttpResponse:
    kind = queries.unit_type(pk)
    actions.retire_unit_type(unit_type=kind, retired=request.POST.get("retired") == "yes", actor=actor_of(request))
    return redirect("units:type", pk)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def new_fitted(request: HttpRequest) -> HttpResponse:
    onward = request.GET.get("next", "")
    form = UnitForm(request.POST or None)
    if form.is_valid():
        try:
            unit = actions.enter_unit(actor=actor_of(request), **form.cleaned_data)
        except actions.UnitRuleError as refusal:
            form.add_error("serial_number", str(refusal))
        else:
            messages.success(request, f"{unit} added.")
            if url_has_allowed_host_and_scheme(onward, allowed_hosts=None):
                return redirect(onward)
            return redirect("units:fitted", unit.pk)
    context = {"form": form, "can_enter": newest_revisions().exists(), "onward": onward}
    return render(request, "garage/units/unit_form.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
def fitted(request: HttpRequest, pk: int) -> HttpResponse:
    unit = queries.unit(pk)
    form = UnitNotesForm(request.POST or None, initial=_noted(unit))
    if request.method == "POST":
        return _change_notes(request, pk, form)
    return render(request, "garage/units/unit.html", _unit_page(pk, form))


@permission_required("record_readings")
def _change_notes(request: HttpRequest, pk: int, form: UnitNotesForm) -> HttpResponse:
    unit = queries.unit(pk)
    if form.is_valid():
        try:
            actions.change_unit(unit=unit, actor=actor_of(request), **form.cleaned_data)
        except StaleEditError as stale:
            form.rebase_on(stale.current.row_version)  # type: ignore[attr-defined]
            context = {**_unit_page(pk, form), "standing": stale.current.notes}  # type: ignore[attr-defined]
            return render(request, "garage/units/unit.html", context, status=409)
        return redirect("units:fitted", pk)
    return render(request, "garage/units/unit.html", _unit_page(pk, form), status=422)


@require_POST
@permission_required("record_readings")
def take_out(request: HttpRequest, pk: int) -> HttpResponse:
    actions.take_out(unit=queries.unit(pk), actor=actor_of(request))
    return redirect("units:fitted", pk)


@require_POST
@permission_required("record_readings")
def back_on_shelf(request: HttpRequest, pk: int) -> HttpResponse:
    actions.back_on_shelf(unit=queries.unit(pk), actor=actor_of(request))
    return redirect("units:fitted", pk)


def _noted(unit: FittedUnit) -> dict[str, object]:
    return {name: getattr(unit, name) for name in ("firmware", "batch", "notes", "row_version")}


def _unit_page(pk: int, form: UnitNotesForm) -> dict[str, object]:
    unit = queries.unit(pk)
    return {
        "unit": unit,
        "form": form,
        "jobs": unit.jobs.select_related("vehicle"),
        "changes": changes_of(unit),
        "facts": described(unit.revision.holds()),
    }
