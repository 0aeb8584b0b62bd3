"""Printing the blank sheets of a job."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from garage.papers.press import PaperNotSetError
from garage.people.access import permission_required
from jobs.checklists.queries import sheets_laid_out_once
from jobs.documents.blank_sheets import BlankSheetsForm, set_blank_sheets
from jobs.job.pages import job_for
from timing.sheets.pdf import DocumentLibraryMissing


@never_cache
@require_GET
@permission_required("record_readings")
@sheets_laid_out_once
def blank_sheets(request: HttpRequest, code: str) -> HttpResponse:
    """The sheets that were chosen, to write on. Nothing is written here: what is on them comes in by the pages."""
    job = job_for(code)
    form = BlankSheetsForm(request.GET, job=job)
    if not form.is_valid():
        messages.error(request, "Choose a blank sheet first.")
        return redirect("handover:page", code)
    try:
        made = set_blank_sheets(job, form.cleaned_data["sheets"], timezone.now())
    except (PaperNotSetError, DocumentLibraryMissing) as refusal:
        messages.error(request, str(refusal))
        return redirect("handover:page", code)
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{job.code}-blank-sheets.pdf"'
    return answer
