"""The stage's own page, the comparison of two versions, and the workshop's patterns."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.idempotency import IdempotentForm
from jobs.job.models import Stage
from jobs.job.pages import job_context, job_for
from jobs.maps import actions, queries
from jobs.maps import carry_over_actions as actions_of_carrying_over
from jobs.maps.actions import MapRefusedError
from jobs.maps.carried_over import carried_over
from jobs.maps.forms import PatternForm
from jobs.maps.models import CurvePattern
from jobs.maps.shortcuts import released_version
from jobs.maps.version_tree import family_of


@require_GET
def page(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    now = queries.in_car(job)
    newest = queries.newest_released(job)
    context = job_context(
        request,
        job,
        Stage.MAP,
        in_car=now,
        proven_by=_proven_by(now),
        in_car_kind="stop" if now.doubt else "good",
        in_car_words="in doubt" if now.doubt else "proven",
        newest=newest,
        carried=carried_over(job) if newest is None else None,
        carry_over_form=IdempotentForm(),
        family=family_of(job, now.version),
        can_compare=job.map_versions.count() > 1,
        other_unit=newest is not None and job.unit is not None and newest.unit_revision_id != job.unit.revision_id,
    )
    return render(request, "jobs/maps/page.html", context)


@require_POST
@permission_required("record_readings")
def carry_over(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = IdempotentForm(request.POST)
    if not form.is_valid():
        raise Http404
    try:
        version = actions_of_carrying_over.carry_over(job=job, actor=actor_of(request), **form.cleaned_data)
    except MapRefusedError as refusal:
        for reason in refusal.reasons:
            messages.error(request, reason)
        return redirect("maps:page", code)
    return redirect("maps:key-in", code, version.number)


def _proven_by(now: queries.InCar) -> str:
    if now.proof is None:
        return ""
    at = date_format(timezone.localtime(now.proof.made_at), "j M Y, H:i")
    return f"read back clean by {now.proof.by}, {at}, in {now.proof.unit}"


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def keep(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, version = released_version(code, number)
    if not version.can_be_relied_on():
        return redirect("bench:version", code, number)
    form = PatternForm(request.POST or None)
    if form.is_valid():
        try:
            actions.keep_pattern(version=version, actor=actor_of(request), **form.cleaned_data)
        except MapRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
        else:
            return redirect("maps:patterns")
    context = job_context(request, job, Stage.MAP, version=version, form=form, next_action=None)
    return render(request, "jobs/maps/keep.html", context, status=422 if form.is_bound else 200)


@require_GET
def patterns(request: HttpRequest) -> HttpResponse:
    kept = CurvePattern.objects.select_related("kept_from__job__vehicle", "made_by").order_by("retired", "name")
    return render(request, "jobs/maps/patterns.html", {"patterns": kept})


@require_POST
@permission_required("edit_unit_types")
def retire_pattern(request: HttpRequest, pk: int) -> HttpResponse:
    pattern = get_object_or_404(CurvePattern, pk=pk)
    actions.retire_pattern(pattern=pattern, retired=request.POST.get("retired") == "yes", actor=actor_of(request))
    return redirect("maps:patterns")
