"""The fitting's pages: its sheet, and the rotor under the cap."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET

from jobs.checklists.models import SheetKind
from jobs.checklists.presentation import sheet_context
from jobs.fitting.rotor import rotor_at_both_ends, worked_out_from
from jobs.job.cautions import CAUTIONS_OF, STROBE_LIGHT, TURNING
from jobs.job.models import Stage
from jobs.job.pages import job_context, job_for


@require_GET
@gzip_page  # a sheet of a hundred lines is 400 KB, and packed a tenth of it: much, where the Wi-Fi is bad
@never_cache
@ensure_csrf_cookie
def page(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    context = job_context(request, job, Stage.FITTING)
    # While the sheet is open its own next item is the next action.
    if context["progress"].missing:
        context["next_action"] = None
    return render(request, "jobs/fitting/page.html", context | sheet_context(request, job, SheetKind.FITTING))


@require_GET
def rotor(request: HttpRequest, code: str) -> HttpResponse:
    """The rotor under the cap at the lowest and the highest advance; nothing is entered here."""
    job = job_for(code)
    found = rotor_at_both_ends(job)
    context = job_context(
        request,
        job,
        Stage.FITTING,
        next_action=None,
        # To find the place the crank is turned by hand, to prove it the strobe is used.
        cautions=[TURNING, STROBE_LIGHT, *CAUTIONS_OF[Stage.FITTING]],
        rotor=found,
        rotor_facts=worked_out_from(found),
    )
    return render(request, "jobs/fitting/rotor.html", context)
