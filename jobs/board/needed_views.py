"""What the work needs to know of a car that has just been booked, and on to the first stage from there."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.row_versions import StaleEditError
from jobs.booking.actions import enter_needed
from jobs.booking.needed import needs_something
from jobs.booking.needed_forms import NeededForms
from jobs.checklists.going_on import on_to_next_stage
from jobs.job import stages
from jobs.job.actions import JobRuleError
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def needed(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    if not needs_something(job):
        if request.method == "POST":
            messages.info(request, "All of this was entered meanwhile. Yours was not saved.")
        return redirect("board:job", code)
    may_work = request.user.has_perm("garage.record_readings")
    found = NeededForms(
        request.POST or None,
        job_for(code),  # the forms write what was typed into instances of their own
        vacuum_unit=request.user.vacuum_unit,  # type: ignore[union-attr]
        may_choose_unit=may_work,
    )
    status = 422 if request.method == "POST" else 200
    if request.method == "POST" and found.is_valid():
        try:
            enter_needed(
                job=job,
                row_version=found.car.cleaned_data["row_version"],
                values=found.values(),
                parts={name: found.values(name) for name in found.parts},
                unit=found.chosen_unit,
                sentence=found.origin(),
                actor=actor_of(request),
            )
        except StaleEditError:
            found.car.refuse_as_stale(job_for(code).vehicle.row_version)
            status = 409
        except JobRuleError as refusal:
            found.car.add_error(None, str(refusal))
        else:
            if "go" in request.POST and may_work and _may_go_on(job):
                return redirect(on_to_next_stage(job_for(code), actor_of(request)))
            messages.success(request, "Saved.")
            return redirect("board:job", code)
    context = job_context(request, job, Stage.BOOKED, needed=found, next_action=None)
    context["goes_on_to"] = job.next_stage if may_work and _may_go_on(job) else None
    return render(request, "jobs/board/needed.html", context, status=status)


def _may_go_on(job: Job) -> bool:
    """Whether the car stands in the yard: its booking is complete."""
    return not stages.progress_of(job, Stage.BOOKED).missing
