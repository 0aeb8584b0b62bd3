"""The page on which road notes that were written with a pen are typed in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from jobs.job.models import Stage
from jobs.job.pages import job_context, job_for
from jobs.roadtest.actions import RunOverError
from jobs.roadtest.from_paper import FromPaperForm, take_from_paper
from jobs.roadtest.views import run_of


@never_cache
@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def from_paper(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """The lines of the blank sheet, typed in at one go; what was typed stays where a line is wrong."""
    job = job_for(code)
    run, actor = run_of(job, pk), actor_of(request)
    form = FromPaperForm(request.POST or None, person=actor.person)
    if form.is_valid():
        try:
            saved = take_from_paper(run=run, form=form, actor=actor)
        except RunOverError as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Saved from paper: {saved}.")
            return redirect("roadtest:run", code, pk)
    context = job_context(request, job, Stage.ROAD_TEST, next_action=None, run=run, form=form)
    return render(request, "jobs/roadtest/from_paper.html", context, status=422 if form.errors else 200)
