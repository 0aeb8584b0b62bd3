"""The inspection's page: the sheet, the mark, the sweep, the compression, the verdict."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.quantities.measure import PRESSURE
from garage.record.answers import onward
from garage.record.facts import with_people
from jobs.checklists import queries as checklists
from jobs.checklists.going_on import onward_after
from jobs.checklists.presentation import sheet_context
from jobs.inspection import actions, queries
from jobs.inspection.failures import failures_of
from jobs.inspection.forms import CompressionForm, MarkForm, SweepForm, VerdictForm
from jobs.inspection.pictures import sweep_pictures
from jobs.inspection.several import SeveralSweepsForm, record_several
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for
from timing.errors import TimingError


def _compression_form(request: HttpRequest, job: Job, data: Any = None) -> CompressionForm:
    return CompressionForm(
        data,
        prefix="compression",
        cylinders=job.vehicle.engine.cylinders,
        last_unit=request.session.get("compression_unit", PRESSURE.canonical),
    )


def _context(request: HttpRequest, job: Job, **forms: Any) -> dict[str, Any]:
    failures = failures_of(job)
    fresh = {
        "sweep_form": SweepForm(prefix="sweep", initial={"direction": queries.last_direction(job)}),
        "several_form": SeveralSweepsForm(prefix="several", initial={"direction": queries.last_direction(job)}),
        "mark_form": MarkForm(prefix="mark"),
        "compression_form": _compression_form(request, job),
        "verdict_form": VerdictForm(prefix="verdict", failures=failures),
    }
    return job_context(
        request,
        job,
        Stage.INSPECTION,
        sheet=checklists.sheet_progress(job, "inspection"),
        sheet_url=checklists.sheet_page(job, "inspection"),
        readings=with_people(queries.sweep_readings(job)),
        comparison=queries.compared_sweep(job),
        pictures=sweep_pictures(job),
        mark=queries.mark_found(job),
        compression=queries.compression(job),
        verdict=queries.verdict(job),
        failures=[failure for failure in failures if failure.found],
        needs_owner=any(failure.stops for failure in failures),
        back_to=onward(request, ""),
        **{**fresh, **forms},
    )


def _page(request: HttpRequest, job: Job, status: int = 200, **forms: Any) -> HttpResponse:
    return render(request, "jobs/inspection/page.html", _context(request, job, **forms), status=status)


def _back(request: HttpRequest, job: Job, part: str, *, is_read: bool = False) -> HttpResponse:
    """To its part of the page; once all of it `is_read`, to the sheet, for whoever came from there."""
    here = f"{reverse('inspection:page', args=[job.code])}#{part}"
    return redirect(onward(request, here) if is_read else here)


@require_GET
@checklists.sheets_laid_out_once
def page(request: HttpRequest, code: str) -> HttpResponse:
    return _page(request, job_for(code))


@require_GET
@gzip_page
@never_cache
@ensure_csrf_cookie
@checklists.sheets_laid_out_once
def sheet(request: HttpRequest, code: str) -> HttpResponse:
    """The inspection's check-list, on the tablet as the fitting's."""
    job = job_for(code)
    context = job_context(request, job, Stage.INSPECTION)
    # While the sheet is open its own next item is the next action.
    if checklists.sheet_progress(job, "inspection").missing:
        context["next_action"] = None
    return render(request, "jobs/inspection/sheet.html", context | sheet_context(request, job, "inspection"))


@require_POST
@permission_required("record_readings")
def add_sweep_reading(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = SweepForm(request.POST, prefix="sweep")
    if not form.is_valid():
        return _page(request, job, 422, sweep_form=form)
    actions.record_sweep_reading(job=job, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
    return _back(request, job, "sweep")


@require_POST
@permission_required("record_readings")
def add_several_sweeps(request: HttpRequest, code: str) -> HttpResponse:
    """The readings of a slip of paper, written down beside the engine."""
    job = job_for(code)
    form = SeveralSweepsForm(request.POST, prefix="several")
    if not form.is_valid():
        return _page(request, job, 422, several_form=form)
    record_several(job=job, form=form, actor=actor_of(request))
    speeds = {reading.rpm for reading in queries.sweep_readings(job_for(code))}
    return _back(request, job, "sweep", is_read=len(speeds) >= queries.least_sweep_speeds(job))


@require_POST
@permission_required("record_readings")
def withdraw_sweep_reading(request: HttpRequest, code: str, pk: Any) -> HttpResponse:
    job = job_for(code)
    reading = get_object_or_404(job.sweep_readings, pk=pk)
    actions.withdraw_sweep_reading(reading=reading, actor=actor_of(request))
    return _back(request, job, "sweep")


@require_POST
@permission_required("record_readings")
def check_mark(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = MarkForm(request.POST, prefix="mark")
    if form.is_valid():
        try:
            actions.record_mark_check(job=job, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
        except TimingError as refusal:
            form.add_error("second_deg", str(refusal))
        else:
            return _back(request, job, "mark", is_read=True)
    return _page(request, job, 422, mark_form=form)


@require_POST
@permission_required("record_readings")
def read_compression(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = _compression_form(request, job, request.POST)
    if not form.is_valid():
        return _page(request, job, 422, compression_form=form)
    request.session["compression_unit"] = form.cleaned_data["entered_unit"]
    actions.record_compressions(job=job, gauges=form.gauges(), actor=actor_of(request))
    return _back(request, job, "compression", is_read=not queries.compression(job_for(code)).unread)


@require_POST
@permission_required("record_readings")
def give_verdict(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = VerdictForm(request.POST, prefix="verdict", failures=failures_of(job))
    if form.is_valid():
        try:
            actions.give_verdict(job=job, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
        except actions.VerdictRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            here = f"{reverse('inspection:page', args=[code])}#verdict"
            return redirect(onward_after(request, job, here))
    return _page(request, job, 422, verdict_form=form)
