"""The second check of an item: a colleague's PIN beside it, or the same person who reads it again."""

from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.colleague import actor_beside
from garage.people.pin import PinRefusedError
from garage.people.queries import get_workshop
from garage.record.refusals import RuleRefusedError
from jobs.checklists import queries
from jobs.checklists.drawings import picture_of
from jobs.checklists.measuring import unit_for
from jobs.checklists.models import Entry, SheetKind
from jobs.checklists.second_check_actions import confirm_entry, look_again
from jobs.checklists.second_check_forms import LookAgainForm
from jobs.checklists.sheet import Line
from jobs.checklists.verdict import limits_in_words
from jobs.checklists.views import STAGE_OF, kind_for, person_at, posted_id, sheet_for
from jobs.job.models import Job
from jobs.job.pages import job_context, job_for
from jobs.job.second_check import may_come_back, opens_at


@sensitive_post_parameters("pin")
@require_POST
@permission_required("record_readings")
def confirm(request: HttpRequest, code: str, kind: str, key: str) -> HttpResponse:
    """The second check by whoever is signed in, or by a colleague who types a PIN here and leaves them signed in."""
    job, kind = job_for(code), kind_for(kind)
    # The entry that was on the page: what came meanwhile was not looked at by anybody.
    entry = sheet_for(job, kind).record.entries.filter(pk=posted_id(request, "entry"), item__key=key).first()
    if entry is None:
        raise Http404
    try:
        confirm_entry(entry=entry, id=uuid4(), actor=actor_beside(request, "record_readings"))
    except (RuleRefusedError, PinRefusedError) as refusal:
        if request.accepts("text/html"):
            messages.error(request, str(refusal))
            return redirect("checklists:item", code, kind, key)
        return JsonResponse({"problem": str(refusal)}, status=422)
    if request.accepts("text/html"):
        return redirect(f"{queries.sheet_page(job, kind)}#item-{key}")
    return JsonResponse({"kept": str(entry.pk)})


@require_http_methods(["GET", "POST"])
@never_cache
@permission_required("record_readings")
def again(request: HttpRequest, code: str, kind: str, key: str) -> HttpResponse:
    """Whoever works alone reads an item again, on a page that does not show what was entered first."""
    job, kind = job_for(code), kind_for(kind)
    sheet = sheet_for(job, kind)
    line = sheet.line(key)
    if line is None or line.current is None or not (line.waits_for_second or request.method == "POST"):
        raise Http404
    if request.method == "GET":
        return _again_page(request, job, kind, line, LookAgainForm(item=line.item, person=person_at(request)))
    entry: Entry | None = sheet.record.entries.filter(pk=posted_id(request, "entry"), item__key=key).first()
    if entry is None:
        raise Http404
    form = LookAgainForm(request.POST, item=line.item, person=person_at(request))
    if form.is_valid():
        try:
            kept = look_again(entry=entry, actor=actor_of(request), **form.cleaned_data)
        except RuleRefusedError as refusal:
            form.add_error(None, str(refusal))
        else:
            if isinstance(kept, Entry):
                messages.warning(request, f"‘{line.item.text}’: different from the first. Keep one.")
            return redirect(f"{queries.sheet_page(job, kind)}#item-{key}")
    return _again_page(request, job, kind, line, form, status=422)


def _again_page(
    request: HttpRequest, job: Job, kind: SheetKind, line: Line, form: LookAgainForm, status: int = 200
) -> HttpResponse:
    assert line.current is not None  # noqa: S101 - the view has seen to it
    context = job_context(
        request,
        job,
        STAGE_OF[kind],
        next_action=None,
        line=line,
        form=form,
        picture=picture_of(line.item),
        limits=limits_in_words(line.item, unit_for(line.item, person_at(request)), get_workshop().altitude_m),
        may_come_back=may_come_back(actor_of(request).at),
        opens_at=opens_at(line.current.made_at),
        back_url=f"{queries.sheet_page(job, kind)}#item-{line.item.key}",
    )
    return render(request, "jobs/checklists/again.html", context, status=status)
