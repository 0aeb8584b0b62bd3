"""Who works when, who is away, and which bays there are."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.models import Staff
from garage.people.queries import mechanics
from garage.record.conflicts import standing
from garage.record.row_versions import StaleEditError
from garage.rota import actions, queries
from garage.rota.forms import AbsenceForm, BayForm, WorkingWeekForm
from garage.rota.models import WEEKDAYS, Absence, Bay


@require_GET
def page(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    known = queries.rota(mechanics(), today, today)
    people = [
        {"person": person, "hours": [getattr(known.weeks[person.pk], name) for name in WEEKDAYS]}
        for person in known.people
    ]
    context = {
        "people": people,
        "weekdays": WEEKDAYS,
        "absences": queries.absences_from(today),
        "bays": Bay.objects.all(),
    }
    return render(request, "garage/rota/page.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def hours(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Staff, pk=pk, is_active=True)
    week = queries.working_week(person)
    # the form writes what was typed into an instance of its own
    form = WorkingWeekForm(
        request.POST or None, instance=queries.working_week(person), initial={"row_version": week.row_version}
    )
    more: dict[str, Any] = {}
    if form.is_valid():
        row_version = form.cleaned_data["row_version"]
        try:
            actions.set_working_week(
                person=person, row_version=row_version, hours=form.hours(), actor=actor_of(request)
            )
        except StaleEditError:
            now = queries.working_week(person)
            form.refuse_as_stale(now.row_version)
            more = {"saved_now": standing(now, form, list(WEEKDAYS)), "status": 409}
        else:
            return redirect("rota:page")
    return _form_page(request, form, title=f"Working hours of {person}", action="Save", **more)


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def away(request: HttpRequest) -> HttpResponse:
    form = AbsenceForm(request.POST or None)
    if form.is_valid():
        try:
            actions.enter_absence(actor=actor_of(request), **form.cleaned_data)
        except actions.RotaRuleError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("rota:page")
    return _form_page(request, form, title="Add days away", action="Add days away")


@require_POST
@permission_required("book_jobs")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    actions.cancel_absence(absence=get_object_or_404(Absence, pk=pk), actor=actor_of(request))
    return redirect("rota:page")


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def bays(request: HttpRequest) -> HttpResponse:
    form = BayForm(request.POST or None)
    if form.is_valid():
        try:
            actions.add_bay(actor=actor_of(request), **form.cleaned_data)
        except actions.RotaRuleError as refusal:
            form.add_error("name", str(refusal))
        else:
            return redirect("rota:page")
    return _form_page(request, form, title="Add bay", action="Add bay")


@require_POST
@permission_required("manage_workshop")
def close_bay(request: HttpRequest, pk: int) -> HttpResponse:
    actions.close_bay(bay=get_object_or_404(Bay, pk=pk), actor=actor_of(request))
    return redirect("rota:page")


@require_POST
@permission_required("manage_workshop")
def open_bay(request: HttpRequest, pk: int) -> HttpResponse:
    actions.open_bay(bay=get_object_or_404(Bay, pk=pk), actor=actor_of(request))
    return redirect("rota:page")


def _form_page(
    request: HttpRequest,
    form: WorkingWeekForm | AbsenceForm | BayForm,
    *,
    title: str,
    action: str,
    saved_now: list[dict[str, Any]] | None = None,
    status: int | None = None,
) -> HttpResponse:
    status = status or (422 if form.is_bound else 200)
    context = {"form": form, "title": title, "action": action, "standing": saved_now}
    return render(request, "garage/rota/form.html", context, status=status)
