"""The page that asks what a timing tape is for, and answers with its sheet."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from garage.papers.press import PaperNotSetError
from jobs.job.models import Stage
from jobs.job.pages import job_context, job_for
from jobs.strobe.tape import TapeForm, set_tape
from timing.sheets.pdf import DocumentLibraryMissing


@never_cache
@require_GET
def tape(request: HttpRequest, code: str) -> HttpResponse:
    """Asks for the wheel, and gives the sheet once it knows it. Nothing is written: a tape is a tool."""
    job = job_for(code)
    form = TapeForm(request.GET or None, initial={"diameter_mm": job.vehicle.engine.pulley_diameter_mm})
    if form.is_valid():
        try:
            made = set_tape(job, form.tape(), form.cleaned_data["width_mm"], timezone.now())
        except (PaperNotSetError, DocumentLibraryMissing) as refusal:
            form.add_error(None, str(refusal))
        else:
            answer = HttpResponse(made, content_type="application/pdf")
            answer["Content-Disposition"] = f'inline; filename="{job.code}-timing-tape.pdf"'
            return answer
    context = job_context(request, job, Stage.BASE_TIMING, form=form, next_action=None)
    return render(request, "jobs/strobe/tape.html", context, status=422 if form.is_bound else 200)
