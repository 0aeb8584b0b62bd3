"""The road test's pages."""

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.people.queries import works_alone
from jobs.checklists.going_on import onward_after
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for
from jobs.maps import queries as maps
from jobs.roadtest import actions, queries
from jobs.roadtest.forms import EndForm, NoteForm, RunForm
from jobs.roadtest.models import BeforeLeaving, RoadRun, Severity
from jobs.roadtest.tablet import FELT, PLACING, page_data


def _page(request: HttpRequest, job: Job, status: int = 200, form: RunForm | None = None) -> HttpResponse:
    alone = works_alone(timezone.localdate())
    crew = {"driver" if alone else "writer": request.user.pk}
    now, last = maps.in_car(job), queries.last_run(job)
    version = now.version
    initial = {
        "fuel_ron": job.vehicle.engine.fuel_ron,
        "route": queries.last_route(),
        # The record knows this one; the others only whoever looks.
        "looked_at": [BeforeLeaving.READ_BACK] if version and now.doubt is None else [],
        **crew,
    }
    context = job_context(
        request,
        job,
        Stage.ROAD_TEST,
        runs=[(run, queries.current_notes(run)) for run in reversed(queries.runs(job))],
        version=version,
        run_is_due=last is None or (last.ended_at is not None and version != last.map_version),
        form=form or RunForm(initial=initial),
    )
    return render(request, "jobs/roadtest/page.html", context, status=status)


@require_GET
def page(request: HttpRequest, code: str) -> HttpResponse:
    return _page(request, job_for(code))


@require_POST
@permission_required("record_readings")
def begin(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = RunForm(request.POST)
    version = maps.version_in_car(job)
    if version is None:
        messages.error(request, "No map in the car yet. Read it back first.")
        return redirect("roadtest:page", code)
    if not form.is_valid():
        return _page(request, job, 422, form)
    run = actions.begin_run(
        job=job, version_id=version.pk, version_words=str(version), actor=actor_of(request), **form.cleaned_data
    )
    return redirect("roadtest:run", code, run.pk)


def run_of(job: Job, pk: int) -> RoadRun:
    return get_object_or_404(job.road_runs.select_related("driver", "writer", "map_version"), pk=pk)


def _what_it_asks(run: RoadRun) -> str:
    """Where a run leads that has ended: to what its pinking proposes, or to what was noted on it."""
    if queries.pinked(run):
        return reverse("proposals:page", args=[run.job.code])
    return reverse("roadtest:run", args=[run.job.code, run.pk])


def _note_form(request: HttpRequest, data: Any = None, **kwargs: Any) -> NoteForm:
    return NoteForm(data, vacuum_unit=actor_of(request).person.vacuum_unit, **kwargs)


def _run_context(request: HttpRequest, job: Job, run: RoadRun, **forms: Any) -> dict[str, Any]:
    reason = urlencode({"reason": queries.reason_for_next_version(run)})
    next_version = reverse("bench:next", args=[job.code, run.map_version.number])
    fresh = {
        "form": _note_form(request, initial={"severity": Severity.CLEAR}),
        "end_form": EndForm(),
        "place_form": _note_form(request, prefix=PLACING),
    }
    return job_context(
        request,
        job,
        Stage.ROAD_TEST,
        run=run,
        notes=[(note, actions.in_words(note)) for note in queries.current_notes(run)],
        tablet_data=page_data(job, run, actor_of(request).person),
        felt=FELT,
        found_nothing=all(note.kind in actions.IS_NO_FAULT for note in queries.current_notes(run)),
        next_version_url=f"{next_version}?{reason}",
        # While the drive is on, only its own form is in the way of the next note.
        **({} if run.ended_at else {"next_action": None}),
        **{**fresh, **forms},
    )


@require_GET
def run(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    return render(request, "jobs/roadtest/run.html", _run_context(request, job, run_of(job, pk)))


@require_POST
@permission_required("record_readings")
def note(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    run = run_of(job, pk)
    form = _note_form(request, request.POST)
    if form.is_valid():
        try:
            actions.take_note(run=run, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
            return redirect("roadtest:run", code, pk)
        except actions.RunOverError as refusal:
            form.add_error(None, str(refusal))
    return render(request, "jobs/roadtest/run.html", _run_context(request, job, run, form=form), status=422)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def place(request: HttpRequest, code: str, pk: int, note: Any) -> HttpResponse:
    """Say more of a note, on a page of its own: the way without script."""
    job = job_for(code)
    run = run_of(job, pk)
    placed = get_object_or_404(run.notes, pk=note)
    known = {name: getattr(placed, name) for name in ("kind", "severity", "rpm", "vacuum_kpa", "gear", "load", "words")}
    form = _note_form(request, request.POST or None, initial=known)
    if form.is_valid():
        try:
            actions.place_note(note=placed, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
            return redirect("roadtest:run", code, pk)
        except actions.NoteChangedError as refusal:
            form.add_error(None, str(refusal))
    context = job_context(
        request, job, Stage.ROAD_TEST, run=run, words=actions.in_words(placed), form=form, next_action=None
    )
    return render(request, "jobs/roadtest/place.html", context, status=422 if form.errors else 200)


@require_POST
@permission_required("record_readings")
def withdraw(request: HttpRequest, code: str, pk: int, note: Any) -> HttpResponse:
    run = run_of(job_for(code), pk)
    actions.withdraw_note(note=get_object_or_404(run.notes, pk=note), actor=actor_of(request))
    return redirect("roadtest:run", code, pk)


@require_POST
@permission_required("record_readings")
def end(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    run = run_of(job, pk)
    form = EndForm(request.POST, nothing_found="nothing_found" in request.POST)
    status = 422
    if form.is_valid():
        try:
            actions.end_run(
                run=run,
                summary=form.cleaned_data["summary"],
                nothing_found=form.nothing_found,
                actor=actor_of(request),
            )
            return redirect(onward_after(request, job, _what_it_asks(run)))
        except actions.RunOverError as refusal:
            form.add_error(None, str(refusal))
            status = 409
        except actions.SomethingFoundError as refusal:
            form.add_error("summary", str(refusal))
    return render(request, "jobs/roadtest/run.html", _run_context(request, job, run, end_form=form), status=status)
