"""The page on which a sheet that was filled in with a pen is typed in."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from jobs.checklists import queries
from jobs.checklists.blank import lettered, paper_unit
from jobs.checklists.from_paper import FromPaperForm, take_from_paper
from jobs.checklists.views import STAGE_OF, kind_for, person_at, sheet_for
from jobs.job.pages import job_context, job_for


@never_cache
@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def from_paper(request: HttpRequest, code: str, kind: str) -> HttpResponse:
    """Types in what was written on the blank sheet; what is not taken stays in the box, with the reason."""
    job, kind = job_for(code), kind_for(kind)
    sheet, person = sheet_for(job, kind), person_at(request)
    form = FromPaperForm(request.POST or None, sheet=sheet, person=person)
    status = 422 if form.is_bound else 200
    if form.is_valid():
        taken = take_from_paper(form, actor_of(request))
        if taken.saved:
            messages.success(request, f"Saved from paper: {taken.saved}.")
        if not taken.left:
            return redirect(queries.sheet_page(job, kind))
        left = {"written": form.cleaned_data["written"], "lines": "\n".join(taken.left)}
        form = FromPaperForm(sheet=sheet, person=person, initial=left)
        for reason in taken.reasons:
            messages.error(request, reason)
    context = job_context(
        request,
        job,
        STAGE_OF[kind],
        next_action=None,
        form=form,
        sheet_kind=kind,
        rows=[
            {"line": line, "unit": paper_unit(line.item), "choices": lettered(line.item)}
            for line in sheet.lines
            if line.is_open
        ],
        back_url=queries.sheet_page(job, kind),
    )
    return render(request, "jobs/checklists/from_paper.html", context, status=status)
