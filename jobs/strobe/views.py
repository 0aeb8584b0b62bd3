"""The strobe's pages: proving the base timing, and sweeping the map."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.answers import answer_form
from jobs.job import stages
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for
from jobs.maps import queries as maps
from jobs.strobe import actions, queries
from jobs.strobe.doubt import Doubt, cautions_of, doubt_about, settled_by
from jobs.strobe.final_check import final_check_of
from jobs.strobe.forms import BaseSittingForm, BeginForm, ClampForm, ReadingForm
from jobs.strobe.models import Purpose, StrobeSession
from jobs.strobe.pictures import session_pictures
from timing.errors import TimingError

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


def _page(request: HttpRequest, job: Job, status: int = 200, **forms: Any) -> HttpResponse:
    check = queries.clamp(job)
    fresh = {
        "session_form": BaseSittingForm(
            initial={"base_deg": queries.suggested_base_deg(job), "lamp": queries.last_lamp()}
        ),
        "clamp_form": ClampForm(prefix="clamp"),
        "begin_form": BeginForm(prefix="begin", initial={"lamp": queries.last_lamp()}),
    }
    context = job_context(
        request,
        job,
        Stage.BASE_TIMING,
        sessions=job.strobe_sessions.select_related("begun_by", "map_version").order_by("-begun_at"),
        proof=queries.base_proof(job),
        clamp=check,
        clamp_holds=queries.clamp_holds(check),
        versions=maps.released_versions(job),
        map_sessions=MAP_SESSIONS,
        **{**fresh, **forms},
    )
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
    unit = getattr(request.user, "vacuum_unit", "kPa") if session.map_version_id else None
    return ReadingForm(data, vacuum_unit=unit)


def _session_context(request: HttpRequest, job: Job, session: StrobeSession, **forms: Any) -> dict[str, Any]:
    found, stage = queries.judged(session), STAGE_OF[Purpose(session.purpose)]
    fresh = {"form": _reading_form(request, session)}
    return job_context(
        request,
        job,
        stage,
        session=session,
        found=found,
        still_missing=_still_missing(job, session),
        way_back={"url": stages.stage_url(job, stage), "label": stage.label},
        pictures=session_pictures(found),
        strobe_cautions=cautions_of(session),
        next_action=None,
        **{**fresh, **forms},
    )


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
    saved, doubt = False, None
    if form.is_valid():
        try:
            doubt = _save_or_ask(request, session, form)
        except TimingError as refusal:
            form.add_error(None, str(refusal))
        else:
            if doubt is None and not form.errors:
                form, saved = _reading_form(request, session), True
    return answer_form(
        request,
        saved=saved,
        page="jobs/strobe/session.html",
        fragment="jobs/strobe/_session.html",
        context=lambda: _session_context(request, job, session, form=form, doubt=doubt),
        go_to=reverse("strobe:session", args=[code, pk]),
    )


def _save_or_ask(request: HttpRequest, session: StrobeSession, form: ReadingForm) -> Doubt | None:
    """Save the reading, or answer with the doubt that is to be settled first."""
    typed, id = form.values(), form.cleaned_data["id"]
    keep, correct = request.POST.get("keep", ""), request.POST.get("correct", "")
    doubt = doubt_about(
        session,
        id=id,
        **{name: typed.get(name) for name in ("rpm", "measured_deg", "vacuum_kpa")},  # type: ignore[arg-type]
    )
    settled = settled_by(doubt, keep=keep, correct=correct) if doubt else None
    if doubt is not None and settled is None:
        return doubt
    if correct and settled is None:
        # The button promised another figure than the one that is in the box now.
        form.add_error("measured_deg", "Changed since it was asked about. Check it and save.")
        return None
    if settled is not None:
        typed["measured_deg"] = settled.measured_deg
    actions.record_reading(session=session, id=id, settled=settled, actor=actor_of(request), **typed)
    return None


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
    form = ClampForm(request.POST, prefix="clamp")
    if not form.is_valid():
        return _page(request, job, 422, clamp_form=form)
    actions.record_clamp(job=job, id=form.cleaned_data["id"], actor=actor_of(request), **form.values())
    return redirect(f"{reverse('strobe:page', args=[code])}#clamp")
