"""Keying a released version into the unit, and reading it back."""

import uuid
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from jobs.checklists.going_on import onward_after
from jobs.job.cautions import HIGH_VOLTAGE
from jobs.job.models import Job, Stage
from jobs.job.pages import cautions_context, job_context
from jobs.maps import actions, queries
from jobs.maps.actions import MapRefusedError
from jobs.maps.forms import ReadBackForm
from jobs.maps.models import MapVersion, ReadBack
from jobs.maps.shortcuts import released_version
from jobs.maps.unit_fit import lines_of, reckoning_of


@require_GET
def key_in(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, version = released_version(code, number)
    context = _context(request, job, version)
    if context["sound"]:
        context["lines"] = lines_of(version)
    if context["can_read_back"]:
        context["form"] = _form(request, version)
    return render(request, "jobs/maps/key_in.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def read_back(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, version = released_version(code, number)
    context = _context(request, job, version)
    if not context["can_read_back"] or job.unit is None:
        return render(request, "jobs/maps/read_back.html", context, status=409 if request.method == "POST" else 200)
    form = _form(request, version)
    if form.is_valid():
        try:
            fact = actions.record_read_back(
                fact_id=form.cleaned_data["fact_id"],
                version=version,
                unit=job.unit,
                shown=form.shown(),
                power_cycled=form.cleaned_data["power_cycled"],
                actor=actor_of(request),
            )
            said = reverse("maps:read-back-result", args=[code, number, fact.pk])
            return redirect(_onward(request, job, said) if fact.clean else said)
        except MapRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
    context["form"] = form
    return render(request, "jobs/maps/read_back.html", context, status=422 if form.is_bound else 200)


@require_GET
def read_back_result(request: HttpRequest, code: str, number: int, pk: uuid.UUID) -> HttpResponse:
    job, version = released_version(code, number)
    fact = ReadBack.objects.filter(pk=pk, map_version=version).select_related("by", "unit", "device").first()
    if fact is None:
        raise Http404
    context = _context(request, job, version, leads_on=fact.clean) | {"fact": fact}
    if not fact.clean and context["can_read_back"]:
        context["form"] = _form(request, version)
    return render(request, "jobs/maps/read_back_result.html", context)


def _form(request: HttpRequest, version: MapVersion) -> ReadBackForm:
    return ReadBackForm(request.POST or None, lines=lines_of(version), initial={"fact_id": uuid.uuid4()})


def _onward(request: HttpRequest, job: Job, said: str) -> str:
    """Where a clean read-back leads: a version corrected on the road goes back there, not past it."""
    if "go" in request.POST and job.stage == Stage.ROAD_TEST:
        return reverse("roadtest:page", args=[job.code])
    return onward_after(request, job, said)


def _context(request: HttpRequest, job: Job, version: MapVersion, *, leads_on: bool = False) -> dict[str, Any]:
    """What the three pages share; where nothing is left to do here, the job's own next action stands below."""
    sound = version.is_sound()
    fits = job.unit is not None and job.unit.revision_id == version.unit_revision_id
    now = queries.in_car(job)
    return job_context(
        request,
        job,
        Stage.MAP,
        version=version,
        sound=sound,
        fits=fits,
        can_read_back=sound and fits,
        reckoning=reckoning_of(version.unit_revision.holds()),
        in_car=now.version is not None and now.version.pk == version.pk,
        newest=queries.newest_released(job),
        **cautions_context(request, job, [HIGH_VOLTAGE]),
        **({} if leads_on else {"next_action": None}),
    )
