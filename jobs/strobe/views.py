"""The strobe's pages: proving the base timing, and sweeping the map."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from jobs.checklists.actions import EntryRefusedError
from jobs.checklists.going_on import onward_after
from jobs.job import stages
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for
from jobs.maps import queries as maps
from jobs.strobe import actions, clamp_photograph, queries
from jobs.strobe.doubt import cautions_of
from jobs.strobe.final_check import final_check_of
from jobs.strobe.following import following, is_to_be_read_again
from jobs.strobe.forms import BaseSittingForm, BeginForm, ClampForm, ReadingForm
from jobs.strobe.models import Purpose, StrobeSession
from jobs.strobe.pictures import session_pictures
from jobs.strobe.several import SeveralForm, take_several
from jobs.strobe.tablet import page_data, vacuum_unit_for
from jobs.strobe.taking import take_reading

# Where a session belongs: its page shows that stage's cautions, and its way back leads there.
STAGE_OF = {
    Purpose.BASE: Stage.BASE_TIMING,
    Purpose.SWEEP: Stage.MAP,
    Purpose.FINAL: Stage.HANDOVER,
    Purpose.AFTER_CARE: Stage.AFTER_CARE,
}

MAP_SESSIONS = [
    (Purpose.SWEEP.value, "Start map sweep"),
    (Purpose.FINAL.value, "Start final check"),
    (Purpose.AFTER_CARE.value, "Start after-care check"),
]


def _clamp_form(job: Job, *sent: Any) -> ClampForm:
    return ClampForm(*sent, prefix="clamp", with_photograph=clamp_photograph.is_asked_for(job))


def _page(request: HttpRequest, job: Job, status: int = 200, **forms: Any) -> HttpResponse:
    check = queries.clamp(job)
    fresh = {
        "session_form": BaseSittingForm(
            initial={"base_deg": queries.suggested_base_deg(job), "lamp": queries.last_lamp()}
        ),
        "clamp_form": _clamp_form(job),
        "begin_form": BeginForm(prefix="begin", initial={"lamp": queries.last_lamp()}),
    }
    context = job_context(
        request,
        job,
        Stage.BASE_TIMING,
        sessions=[queries.judged(session) for session in queries.sessions(job)],
        proof=(proof := queries.base_proof(job)),
        turn_and_read=proof is not None and is_to_be_read_again(proof),
        clamp=check,
        clamp_holds=queries.clamp_holds(check),
        versions=maps.released_versions(job),
        map_sessions=MAP_SESSIONS,
        **{**fresh, **forms},
    )
    if (action := context["next_action"]) and action["url"].startswith(f"{request.path}#"):
        context["next_action"] = None  # it stands on this very page
    return render(request, "jobs/strobe/page.html", context, status=status)


@require_GET
def page(request: HttpRequest, code: str) -> HttpResponse:
    return _page(request, job_for(code))


@require_POST
@permission_required("record_readings")
def begin_base(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = BaseSittingForm(request.POST)
    if not form.is_valid():
        return _page(request, job, 422, session_form=form)
    session = actions.begin_base_session(job=job, actor=actor_of(request), **form.cleaned_data)
    return redirect("strobe:session", code, session.pk)


@require_POST
@permission_required("record_readings")
def begin_map(request: HttpRequest, code: str, purpose: str) -> HttpResponse:
    """Sweep the version that is in the car; before a read-back, the newest released one."""
    job = job_for(code)
    form = BeginForm(request.POST, prefix="begin")
    version = maps.version_in_car(job) or maps.released_versions(job).last()
    if version is None or purpose not in {Purpose.SWEEP, Purpose.FINAL, Purpose.AFTER_CARE} or not form.is_valid():
        messages.error(request, "No released map version yet.")
        return redirect("strobe:page", code)
    session = actions.begin_map_session(
        job=job,
        purpose=Purpose(purpose),
        version_id=version.pk,
        version_words=str(version),
        actor=actor_of(request),
        **form.cleaned_data,
    )
    return redirect("strobe:session", code, session.pk)


def _session(job: Job, pk: int) -> StrobeSession:
    return get_object_or_404(job.strobe_sessions.select_related("map_version", "begun_by"), pk=pk)


def _reading_form(request: HttpRequest, session: StrobeSession, data: Any = None) -> ReadingForm:
    return ReadingForm(data, vacuum_unit=vacuum_unit_for(session, actor_of(request).person))


def _several_form(request: HttpRequest, session: StrobeSession, data: Any = None) -> SeveralForm:
    return SeveralForm(data, vacuum_unit=vacuum_unit_for(session, actor_of(request).person), prefix="several")


def _session_context(request: HttpRequest, job: Job, session: StrobeSession, **forms: Any) -> dict[str, Any]:
    found, stage = queries.judged(session), STAGE_OF[Purpose(session.purpose)]
    fresh = {"form": _reading_form(request, session), "several_form": _several_form(request, session)}
    context = job_context(
        request,
        job,
        stage,
        session=session,
        found=found,
        still_missing=_still_missing(job, session),
        way_back={"url": stages.stage_url(job, stage), "label": stage.label},
        pictures=session_pictures(found),
        tablet_data=page_data(job, session, actor_of(request).person),
        strobe_cautions=cautions_of(session),
        clamp_form=_clamp_form(job),
        **{**fresh, **forms},
    )
    # The next action stands after the verdict that it follows from, and nowhere else on the page.
    return context | {"following": following(job, found, context["next_action"]), "next_action": None}


def _still_missing(job: Job, session: StrobeSession) -> tuple[str, ...]:
    """What the final check lacks, where this is it and something was read."""
    if session.purpose != Purpose.FINAL:
        return ()
    check = final_check_of(job)
    is_it = check.found is not None and check.found.session == session and check.found.readings
    return check.missing if is_it else ()


@require_GET
def session(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    return render(request, "jobs/strobe/session.html", _session_context(request, job, _session(job, pk)))


@require_POST
@permission_required("record_readings")
def add_reading(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    job = job_for(code)
    session = _session(job, pk)
    form = _reading_form(request, session, request.POST)
    doubt = take_reading(session=session, form=form, actor=actor_of(request))
    saved = form.is_valid() and doubt is None
    if saved:
        return redirect("strobe:session", code, pk)
    context = _session_context(request, job, session, form=form, doubt=doubt)
    return render(request, "jobs/strobe/session.html", context, status=422)


@require_POST
@permission_required("record_readings")
def add_several(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """The readings of a slip of paper, written down beside the engine or by a passenger."""
    job = job_for(code)
    session = _session(job, pk)
    form = _several_form(request, session, request.POST)
    if form.is_valid() and take_several(session=session, form=form, actor=actor_of(request)):
        return redirect("strobe:session", code, pk)
    context = _session_context(request, job, session, several_form=form)
    return render(request, "jobs/strobe/session.html", context, status=422)


@require_POST
@permission_required("record_readings")
def withdraw(request: HttpRequest, code: str, pk: int, reading: Any) -> HttpResponse:
    job = job_for(code)
    session = _session(job, pk)
    wrong = get_object_or_404(session.readings, pk=reading)
    actions.withdraw_reading(reading=wrong, actor=actor_of(request))
    return redirect("strobe:session", code, pk)


@require_POST
@permission_required("record_readings")
def record_clamp(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = _clamp_form(job, request.POST, request.FILES)
    if not form.is_valid():
        return _page(request, job, 422, clamp_form=form)
    id, actor = form.cleaned_data["id"], actor_of(request)
    actions.record_clamp(job=job, id=id, actor=actor, **form.values())
    if form.picture is not None:
        try:
            clamp_photograph.keep(job=job, clamp_id=id, picture=form.picture, actor=actor)
        except EntryRefusedError as refusal:
            messages.error(request, f"Clamp saved, photograph not: {refusal}")
    return redirect(onward_after(request, job, f"{reverse('strobe:page', args=[code])}#clamp"))
