"""The fitting's pages: its sheet, and the rotor under the cap."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.row_versions import StaleEditError
from garage.vehicles.models import Vehicle
from jobs.checklists import queries as checklists
from jobs.checklists.actions import EntryRefusedError
from jobs.checklists.drawings import TIP_AT_EDGE as TIP_DRAWING
from jobs.checklists.drawings import drawing
from jobs.checklists.models import SheetKind
from jobs.checklists.presentation import sheet_context
from jobs.checklists.queries import sheets_laid_out_once
from jobs.fitting.actions import record_rotor_figures
from jobs.fitting.forms import RotorFiguresForm
from jobs.fitting.rotor import RotorPage, rotor_page
from jobs.fitting.rotor_figures import large_figures, worked_out_from
from jobs.job.cautions import CAUTIONS_OF, STROBE_LIGHT, TURNING
from jobs.job.models import Job, Stage
from jobs.job.pages import cautions_context, job_context, job_for


@require_GET
@gzip_page  # a sheet of a hundred lines is 400 KB, and packed a tenth of it: much, where the Wi-Fi is bad
@never_cache
@ensure_csrf_cookie
@sheets_laid_out_once
def page(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    context = job_context(request, job, Stage.FITTING)
    # While the sheet is open its own next item is the next action.
    if context["progress"].missing:
        context["next_action"] = None
    return render(request, "jobs/fitting/page.html", context | sheet_context(request, job, SheetKind.FITTING))


@require_http_methods(["GET", "POST"])
@never_cache
def rotor(request: HttpRequest, code: str) -> HttpResponse:
    """The rotor under the cap at both ends of the advance, what brings it into line, and the figures still needed."""
    job = job_for(code)
    if request.method == "POST":
        return _record_rotor_figures(request, job)
    return _rotor_page(request, job)


@permission_required("record_readings")
def _record_rotor_figures(request: HttpRequest, job: Job) -> HttpResponse:
    found = rotor_page(job)
    form = _figures_form(job, found, request.POST)
    status = 422
    if form.is_valid():
        try:
            record_rotor_figures(
                job=job,
                id=form.cleaned_data["id"],
                row_version=form.cleaned_data["row_version"],
                of_car=form.car_values(),
                answers=form.answers(),
                replaces=form.cleaned_data["replaces"],
                actor=actor_of(request),
            )
        except EntryRefusedError as refusal:
            form.add_error(None, str(refusal))
        except StaleEditError:
            form.refuse_as_stale(Vehicle.objects.values_list("row_version", flat=True).get(pk=job.vehicle_id))
            status = 409
        else:
            messages.success(request, "Saved.")
            return redirect("fitting:rotor", job.code)
    return _rotor_page(request, job_for(job.code), form, status)


def _figures_form(job: Job, found: RotorPage, data: QueryDict | None = None) -> RotorFiguresForm:
    sheet = checklists.sheet(job, SheetKind.FITTING)
    return RotorFiguresForm(data, vehicle=job.vehicle, sheet=sheet, place=found.facts.trigger_place)


def _rotor_page(
    request: HttpRequest, job: Job, form: RotorFiguresForm | None = None, status: int = 200
) -> HttpResponse:
    found = rotor_page(job)
    form = form or _figures_form(job, found)
    record = checklists.sheet_record(job, SheetKind.FITTING)
    context = job_context(
        request,
        job,
        Stage.FITTING,
        next_action=None,
        # To find the place the crank is turned by hand, to prove it the strobe is used.
        **cautions_context(request, job, [TURNING, STROBE_LIGHT, *CAUTIONS_OF[Stage.FITTING]]),
        rotor=found,
        rotor_figures=large_figures(found),
        rotor_facts=worked_out_from(found, job.vehicle),
        figures_form=form if request.user.has_perm("garage.record_readings") and form.asks_for_something else None,
        how_to_measure=drawing(TIP_DRAWING),
        sheet_is_begun=record is not None,
        newer_revision=checklists.newer_revision(record) if record else None,
    )
    return render(request, "jobs/fitting/rotor.html", context, status=status)
