"""The pages of a road test's logs."""

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.site.uploads import takes_files_up_to
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for
from jobs.roadlogs import actions, queries, raw, shape, time_line
from jobs.roadlogs.forms import ClockForm, CompareForm, UploadForm
from jobs.roadlogs.mapping import AskedColumns
from jobs.roadlogs.models import LogState, RoadLog
from jobs.roadlogs.presentation import log_context, pair_context
from jobs.roadlogs.refusals import LogRefusedError
from jobs.roadtest.models import RoadRun
from timing.errors import TimingError


def _run(job: Job, pk: int) -> RoadRun:
    return get_object_or_404(job.road_runs.select_related("driver", "writer", "map_version"), pk=pk)


def _log(job: Job, pk: int) -> RoadLog:
    logs = RoadLog.objects.select_related("run__map_version", "run__job__vehicle__engine", "uploaded_by")
    return get_object_or_404(logs.exclude(state=LogState.REMOVED), pk=pk, run__job=job)


def _logs_page(request: HttpRequest, job: Job, run: RoadRun, form: UploadForm, status: int = 200) -> HttpResponse:
    readable = queries.readable_logs_of(job)
    context = job_context(
        request,
        job,
        Stage.ROAD_TEST,
        run=run,
        logs=queries.logs_of(run),
        form=form,
        compare=CompareForm(logs=readable) if len(readable) > 1 else None,
        next_action=None,
    )
    return render(request, "jobs/roadlogs/logs.html", context, status=status)


@require_GET
def logs(request: HttpRequest, code: str, run: int) -> HttpResponse:
    job = job_for(code)
    return _logs_page(request, job, _run(job, run), UploadForm())


@takes_files_up_to(raw.LARGEST_LOG, raw.TOO_LARGE)
@require_POST
@permission_required("record_readings")
def upload(request: HttpRequest, code: str, run: int) -> HttpResponse:
    job = job_for(code)
    of = _run(job, run)
    form = UploadForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            with raw.received(form.upload.chunks()) as received:
                made = actions.upload_log(
                    run=of,
                    received=received,
                    file_name=raw.plain_name(form.upload.name or ""),
                    shape=shape.guessed(received.head),
                    idempotency_key=form.cleaned_data["idempotency_key"],
                    actor=actor_of(request),
                )
            return redirect("roadlogs:columns", code, made.pk)
        except LogRefusedError as refusal:
            form.add_error("file", str(refusal))
    return _logs_page(request, job, of, form, 422)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def columns(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """The first rows as they are read, and what each column holds; 'show' reads them again by another layout."""
    job = job_for(code)
    found = _log(job, pk)
    asked = AskedColumns(found, request.POST if request.method == "POST" else None)
    if asked.is_confirmed():
        actions.confirm_columns(log=found, actor=actor_of(request), **asked.values())
        return redirect("roadlogs:log", code, pk)
    context = job_context(request, job, Stage.ROAD_TEST, log=found, run=found.run, asked=asked, next_action=None)
    return render(request, "jobs/roadlogs/columns.html", context, status=422 if asked.has_errors else 200)


@require_GET
def log(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    return _log_page(request, job, _log(job, pk))


def _log_page(
    request: HttpRequest, job: Job, found: RoadLog, status: int = 200, clock_form: ClockForm | None = None
) -> HttpResponse:
    more: dict[str, Any] = {}
    if found.is_ready:
        more = log_context(found, actor_of(request).person.vacuum_unit, clock_form)
    context = job_context(
        request,
        job,
        Stage.ROAD_TEST,
        log=found,
        run=found.run,
        has_stopped=found.has_stopped(timezone.now()),
        next_action=None,
        **more,
    )
    return render(request, "jobs/roadlogs/log.html", context, status=status)


@require_GET
def progress(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """How far the reading is, asked every second by the page; once it is over, the page itself."""
    job = job_for(code)
    found = _log(job, pk)
    if found.state != LogState.READING:
        return HttpResponse(status=204, headers={"HX-Redirect": reverse("roadlogs:log", args=[code, pk])})
    context = {"job": job, "log": found, "has_stopped": found.has_stopped(timezone.now())}
    return render(request, "jobs/roadlogs/_progress.html", context)


@require_POST
@permission_required("record_readings")
def again(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    actions.try_again(log=_log(job_for(code), pk), actor=actor_of(request))
    return redirect("roadlogs:log", code, pk)


@require_POST
@permission_required("record_readings")
def clock(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    found = _log(job, pk)
    form = ClockForm(request.POST)
    if form.is_valid():
        begins_at = found.run.begun_at + timedelta(seconds=form.cleaned_data["begins_s"])
        actions.set_clock(log=found, begins_at=begins_at, actor=actor_of(request))
        return redirect(f"{reverse('roadlogs:log', args=[code, pk])}#time-line")
    return _log_page(request, job, found, 422, form)


@require_POST
@permission_required("record_readings")
def remove(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    found = _log(job_for(code), pk)
    actions.remove_log(log=found, actor=actor_of(request))
    messages.success(request, f"{found.file_name} removed.")
    return redirect("roadlogs:logs", code, found.run_id)


@require_GET
def window(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """A stretch of the time line for the canvas, as `time_line.Window.packed` packs it."""
    found = _log(job_for(code), pk)
    if not found.is_ready:
        return HttpResponse(status=404)
    try:
        from_s, to_s = float(request.GET["from"]), float(request.GET["to"])
        most = min(int(request.GET["most"]), time_line.MOST_SPANS)
        drawn = time_line.window(found, from_s=from_s, to_s=to_s, most=most)
    except (KeyError, ValueError, OverflowError, TimingError):
        return HttpResponseBadRequest()
    return HttpResponse(drawn.packed(from_s=from_s), content_type="application/octet-stream")


@require_GET
def compare(request: HttpRequest, code: str) -> HttpResponse:
    """Two logs side by side, such as one route with two versions."""
    job = job_for(code)
    form = CompareForm(request.GET or None, logs=queries.readable_logs_of(job))
    more: dict[str, Any] = {}
    if form.is_valid():
        unit = actor_of(request).person.vacuum_unit
        more = pair_context(form.cleaned_data["first"], form.cleaned_data["second"], unit)
    context = job_context(request, job, Stage.ROAD_TEST, form=form, next_action=None, **more)
    return render(request, "jobs/roadlogs/compare.html", context, status=422 if form.errors else 200)
