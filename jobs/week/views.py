"""The week's page, moving a car on it, and the usual hours of a kind of job."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.conflicts import standing
from garage.record.row_versions import StaleEditError
from jobs.costs.queries import usual_hours as standing_hours
from jobs.job.models import Job
from jobs.job.pages import job_context, job_for
from jobs.week import actions, plan
from jobs.week.forms import MoveForm, ShownForm, UsualHoursForm, day_asked


@require_GET
@gzip_page
def week(request: HttpRequest) -> HttpResponse:
    today = timezone.localdate()
    first = plan.monday_of(day_asked(request.GET.get("from", ""), today))
    form = ShownForm(request.GET)
    shown = plan.week(first, today, person=form.person_chosen(), kind=form.kind_chosen())
    context = {"week": shown, "form": form, "today": today, "this_week": plan.monday_of(today)}
    return render(request, "jobs/week/week.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def move(request: HttpRequest, code: str) -> HttpResponse:
    """Where a car is moved without script; what is dragged sends the same form."""
    job = job_for(code)
    form = MoveForm(request.POST or None, instance=job, initial={"row_version": job.row_version})
    status = 422 if form.is_bound else 200
    context: dict[str, Any] = {}
    if form.is_valid():
        job = job_for(code)  # the form has written its values into the instance it was given
        try:
            actions.move(
                job=job, row_version=form.cleaned_data["row_version"], actor=actor_of(request), **form.values()
            )
        except actions.JobRuleError as refusal:
            form.add_error(None, str(refusal))
        except StaleEditError:
            form.refuse_as_stale(job.row_version)
            context["standing"], status = standing(job, form, MoveForm.Meta.fields), 409
        else:
            return _moved(request, job)
    context = job_context(request, job_for(code), form=form, next_action=None, **context)
    return render(request, "jobs/week/move.html", context, status=status)


def _moved(request: HttpRequest, job: Job) -> HttpResponse:
    """Back to the week in which the car is now, with what is too much there."""
    today = timezone.localdate()
    days = sorted({day for day in (job.booked_for, job.promised_for) if day and day >= today})
    for day in days:
        of_day, said = plan.day_sum(day, today), date_format(day, "l j F")
        if not of_day.there:
            messages.warning(request, f"Nobody works on {said}.")
        elif of_day.is_too_much:
            messages.warning(request, f"Too much on {said}: {of_day.words}.")
    shown = max(days, default=today)
    asked = day_asked(request.POST.get("from", ""), shown)
    stays = any(plan.monday_of(day) == plan.monday_of(asked) for day in days)
    first = plan.monday_of(asked if stays else shown)
    return redirect(f"{reverse('week:week')}?from={first.isoformat()}")


@require_http_methods(["GET", "POST"])
@permission_required("manage_workshop")
def usual_hours(request: HttpRequest) -> HttpResponse:
    form = UsualHoursForm(request.POST or None, initial=UsualHoursForm.initial_of(standing_hours()))
    if form.is_valid():
        actions.set_usual_hours(hours=form.hours(), actor=actor_of(request))
        messages.success(request, "Saved.")
        return redirect("week:week")
    return render(request, "jobs/week/usual_hours.html", {"form": form}, status=422 if form.is_bound else 200)
