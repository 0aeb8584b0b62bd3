"""The pages of an import: upload, columns, preview, and what came of it."""

from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.arrivals import actions, waiting
from garage.arrivals.forms import ColumnsForm, ForAllForm, UploadForm
from garage.arrivals.models import Arrival, WaitingList
from garage.arrivals.plan import CHOICES
from garage.arrivals.queries import choices_of, latest, preview_of
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.queries import changes_of


def _own(request: HttpRequest, pk: UUID) -> WaitingList:
    """The list that this person uploaded."""
    return get_object_or_404(WaitingList, pk=pk, by=request.user.pk)


@require_http_methods(["GET", "POST"])
@permission_required("import_lists")
def upload(request: HttpRequest) -> HttpResponse:
    form = UploadForm(request.POST, request.FILES) if request.method == "POST" else UploadForm()
    if form.is_valid():
        one = waiting.wait(table=form.cleaned_data["file"], file_name=form.file_name, actor=actor_of(request))
        return redirect("arrivals:columns", one.pk)
    context = {
        "form": form,
        "arrivals": latest(),
        "own": WaitingList.objects.filter(by=request.user.pk).first(),
    }
    return render(request, "garage/arrivals/upload.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("import_lists")
def columns(request: HttpRequest, pk: UUID) -> HttpResponse:
    own = _own(request, pk)
    form = ColumnsForm(request.POST or None, waiting=own)
    if form.is_valid():
        waiting.choose_columns(waiting=own, columns=form.columns, actor=actor_of(request))
        return redirect("arrivals:preview", pk)
    context = {"form": form, "own": own, "known": waiting.known_before(own)}
    return render(request, "garage/arrivals/columns.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("import_lists")
def preview(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What would happen; POST keeps the choices of the page that was shown."""
    own = _own(request, pk)
    if not waiting.is_mapped(own):
        return redirect("arrivals:columns", pk)
    if request.method == "POST":
        waiting.choose(waiting_id=own.pk, choices=choices_of(request.POST), for_all=request.POST.get("for_all", ""))
        place = {name: request.POST.get(name, "") for name in ("show", "page")}
        return redirect(f"{reverse('arrivals:preview', args=[pk])}?{urlencode(place)}")
    plan = waiting.plan_for(own)
    context = {
        "own": own,
        "plan": plan,
        "made": {"customers": plan.made("customer"), "cars": plan.made("car")},
        "preview": preview_of(plan, shown=request.GET.get("show", ""), page=request.GET.get("page")),
        "choices": CHOICES,
        "for_all": ForAllForm(),
    }
    return render(request, "garage/arrivals/preview.html", context)


@require_POST
@permission_required("import_lists")
def bring_in(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Bring the list in by the choices of the page from which that was asked, and those made before."""
    actor = actor_of(request)
    own = WaitingList.objects.filter(pk=pk, by=actor.person).first()
    if own is not None:
        waiting.choose(waiting_id=own.pk, choices=choices_of(request.POST))
    try:
        arrival = actions.bring_in(waiting_id=pk, seen=request.POST.get("seen", ""), actor=actor)
    except actions.ArrivalRefusedError as refusal:
        messages.error(request, str(refusal))
        return redirect("arrivals:preview", pk) if own is not None else redirect("arrivals:upload")
    return redirect("arrivals:done", arrival.pk)


@require_POST
@permission_required("import_lists")
def drop(request: HttpRequest, pk: UUID) -> HttpResponse:
    waiting.drop(waiting_id=pk, actor=actor_of(request))
    messages.success(request, "List discarded. Nothing was saved.")
    return redirect("arrivals:upload")


@require_GET
@permission_required("import_lists")
def done(request: HttpRequest, pk: int) -> HttpResponse:
    arrival = get_object_or_404(Arrival.objects.select_related("by", "undone_by"), pk=pk)
    context = {
        "arrival": arrival,
        "arrived": arrival.arrived.select_related("customer", "vehicle")[:100],
        "arrived_count": arrival.arrived.count(),
        "changes": changes_of(arrival),
    }
    return render(request, "garage/arrivals/done.html", context)


@require_POST
@permission_required("import_lists")
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    arrival = get_object_or_404(Arrival, pk=pk)
    stays = actions.undo(arrival=arrival, actor=actor_of(request))
    if stays:
        messages.warning(request, f"Import undone. {len(stays)} stayed: see below.")
    else:
        messages.success(request, "Import undone.")
    return redirect("arrivals:done", pk)
