"""The timer on the job card, its true end where it was forgotten, and hours put right."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.quantities.words import plain
from garage.record.forms import FactForm
from jobs.costs import timer_actions
from jobs.costs.forms import CorrectedHoursForm, EndForm
from jobs.costs.models import CostKind, WorkTimer
from jobs.job.pages import job_context, job_for


@require_POST
@permission_required("record_readings")
def start(request: HttpRequest, code: str) -> HttpResponse:
    job, form = job_for(code), FactForm(request.POST)
    try:
        stopped = timer_actions.start_timer(
            job=job, id=form.cleaned_data["id"] if form.is_valid() else uuid.uuid4(), actor=actor_of(request)
        )
    except timer_actions.EndUnknownError as forgotten:
        messages.warning(request, str(forgotten))
        return redirect("costs:stop-timer", forgotten.timer.pk)
    except timer_actions.TimerRefusedError as refusal:
        messages.error(request, str(refusal))
        return redirect("board:job", code)
    if stopped:
        messages.warning(request, f"Your timer on job {stopped.job.code} was stopped.")
    return redirect("board:job", code)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def stop(request: HttpRequest, pk: Any) -> HttpResponse:
    """Stops one's own timer; asks for the true end where it was forgotten."""
    timer = get_object_or_404(WorkTimer.objects.select_related("job"), pk=pk, person_id=request.user.pk)
    form = EndForm(request.POST if "ended_at" in request.POST else None, initial={"ended_at": timer.started_at})
    if request.method == "POST" and (not form.is_bound or form.is_valid()):
        ended_at = form.cleaned_data["ended_at"] if form.is_bound else None
        try:
            line = timer_actions.stop_timer(timer=timer, ended_at=ended_at, actor=actor_of(request))
        except timer_actions.EndUnknownError as forgotten:
            messages.warning(request, str(forgotten))
            return redirect("costs:stop-timer", pk)
        except timer_actions.TimerRefusedError as refusal:
            if not form.is_bound:
                messages.error(request, str(refusal))
                return redirect("costs:stop-timer", pk)
            form.add_error("ended_at", str(refusal))
        else:
            messages.success(request, f"{plain(float(line.quantity))} h added." if line else "No hours added.")
            return redirect("board:job", timer.job.code)
    context = job_context(request, job_for(timer.job.code), form=form, timer=timer)
    return render(request, "jobs/costs/stop_timer.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def correct(request: HttpRequest, code: str, pk: Any) -> HttpResponse:
    """Other hours in the place of one's own; those of others are the desk's to put right."""
    job = job_for(code)
    line = get_object_or_404(job.cost_lines, pk=pk, kind=CostKind.HOURS, by_id=request.user.pk)
    form = CorrectedHoursForm(request.POST or None, initial={"hours": line.quantity})
    if form.is_valid():
        timer_actions.correct_hours(line=line, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
        return redirect("costs:hours", code)
    context = job_context(request, job, form=form, line=line)
    return render(request, "jobs/costs/correct_hours.html", context, status=422 if form.is_bound else 200)
