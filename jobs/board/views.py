"""The board, the job card, the journal, and moving a job along."""

import re
from urllib.parse import urlencode

from django.contrib import messages
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from garage.lists.pages import page_by_key
from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.record.actor import Actor
from garage.record.answers import onward
from garage.record.conflicts import standing
from garage.record.forms import FactForm
from garage.record.row_versions import StaleEditError
from garage.rota.queries import open_bays
from garage.stock.queries import what_runs_low
from garage.vehicles.models import Vehicle
from jobs.board import queries
from jobs.board.groups import BY_BAY, BY_PERSON, in_groups
from jobs.booking import actions as booking
from jobs.booking.forms import BookingEditWithPhotographsForm, BookingWithPhotographsForm
from jobs.booking.needed import needs_something
from jobs.booking.queries import photographs_at_booking, shown
from jobs.checklists import queries as checklists
from jobs.checklists.going_on import on_to_next_stage
from jobs.costs.queries import running_on
from jobs.job import actions, stages
from jobs.job.forms import (
    HoldForm,
    KindForm,
    NoteForm,
    ReasonForm,
    SendBackForm,
    UnitForm,
)
from jobs.job.journal import with_stages
from jobs.job.models import Job, JobKind, JobState, Stage
from jobs.job.pages import crossings_unmet, job_context, job_for
from jobs.maps import queries as maps
from jobs.maps.carried_over import carried_over
from jobs.post.queries import first_failed, kinds_for, mails_of
from jobs.proposals.loop import loop_of
from jobs.quotes.queries import waiting_for_yes
from jobs.strobe import queries as strobe
from jobs.week.forms import ShownForm

LINES_A_PAGE, FAILED_SHOWN = 50, 20


@require_GET
@gzip_page
def board(request: HttpRequest) -> HttpResponse:
    """Today: what is late, what is in the workshop by person or bay, and what comes."""
    today = timezone.localdate()
    form = ShownForm(request.GET)
    by = BY_BAY if request.GET.get("by") == BY_BAY else BY_PERSON
    shown = queries.board(today, person=form.person_chosen(), kind=form.kind_chosen())
    context = {
        "board": shown,
        "groups": in_groups(shown.at(queries.Place.IN_HAND), by, today),
        "by": by,
        "has_bays": open_bays().exists(),
        "form": form,
        "today": today,
        "failed_mails": first_failed(kinds_for(request.user), most=FAILED_SHOWN),
        "low_stock": what_runs_low() if request.user.has_perm("garage.keep_costs") else [],
    }
    return render(request, "jobs/board/board.html", context)


@require_GET
@gzip_page
def listed(request: HttpRequest, place: str) -> HttpResponse:
    """One list of the board in its whole length, a page at a time."""
    if place not in queries.Place.values:
        raise Http404
    page, rows = queries.page_of(queries.Place(place), timezone.localdate(), request.GET)
    context = {"heading": queries.Place(place).label, "rows": rows, "page": page}
    return render(request, "jobs/board/place.html", context)


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def book(request: HttpRequest) -> HttpResponse:
    car = _car_named(request)
    form = BookingWithPhotographsForm(
        request.POST or None,
        request.FILES or None,
        initial={"vehicle": car and car.pk},
        may_choose_unit=request.user.has_perm("garage.record_readings"),
    )
    if form.is_valid():
        try:
            job = _booked(form, actor_of(request))
        except actions.JobRuleError as refusal:
            form.add_error("unit", str(refusal))
        else:
            messages.success(request, f"Booked: job {job.code}.")
            if "all_data" in request.POST:  # the car's papers lie on the desk
                back = urlencode({"next": reverse("board:job", args=[job.code])})
                return redirect(f"{reverse('vehicles:edit', args=[job.vehicle_id])}?{back}")
            # A car that stands in the yard is worked on next; of one that comes some day the rest can wait.
            is_here = not stages.progress_of(job, Stage.BOOKED).missing
            return redirect("board:needed" if is_here and needs_something(job) else "board:job", job.code)
    return render(
        request,
        "jobs/board/book.html",
        {"form": form, "car": car},
        status=422 if form.is_bound else 200,
    )


def _car_named(request: HttpRequest) -> Vehicle | None:
    """The car whose page led here."""
    named = request.GET.get("vehicle", "")
    if not re.fullmatch(r"[0-9]{1,15}", named):
        return None
    return Vehicle.objects.filter(pk=int(named)).select_related("customer").first()


def _booked(form: BookingWithPhotographsForm, actor: Actor) -> Job:
    pictures, typed = form.pictures(), form.cleaned_data
    new_car = {name: typed.pop(name) for name in ("registration", "maker", "model", "phone", "name")}
    return booking.book(new_car=new_car, pictures=pictures, actor=actor, **typed)


@require_GET
@checklists.sheets_laid_out_once
def job(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    stages.prefetch_progress([job])
    in_car = maps.in_car(job)
    return render(
        request,
        "jobs/board/job.html",
        job_context(
            request,
            job,
            in_car=in_car,
            loop=loop_of(job),
            carried=carried_over(job) if in_car.version is None else None,
            proof=strobe.base_proof(job),
            unmet=crossings_unmet(job),
            last_lines=with_stages(job.journal.select_related("by", "device").order_by("-at", "-pk")[:8]),
            photographs=shown(photographs_at_booking(job)),
            waiting_for_yes=waiting_for_yes(job),
            timers=running_on(job),
            timer_form=FactForm(),
            needs_something=needs_something(job),
            mails=mails_of(job, kinds_for(request.user)),
        ),
    )


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def edit(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = BookingEditWithPhotographsForm(
        request.POST or None, request.FILES or None, instance=job, initial={"row_version": job.row_version}
    )
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in form.Meta.fields}
        job = job_for(code)  # the form has written its values into the instance it was given
        try:
            booking.change_booking(
                job=job,
                row_version=form.cleaned_data["row_version"],
                pictures=form.pictures(),
                actor=actor_of(request),
                **values,
            )
        except StaleEditError:
            form.refuse_as_stale(job.row_version)
            return _edit_page(request, job, form, standing=standing(job, form, form.Meta.fields), status=409)
        messages.success(request, "Saved.")
        return redirect("board:job", code)
    return _edit_page(request, job_for(code), form, standing=[], status=422 if form.is_bound else 200)


def _edit_page(
    request: HttpRequest, job: Job, form: BookingEditWithPhotographsForm, *, standing: list[dict[str, str]], status: int
) -> HttpResponse:
    return render(
        request, "jobs/board/edit.html", job_context(request, job, form=form, standing=standing), status=status
    )


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def go_on(request: HttpRequest, code: str, leaving: str) -> HttpResponse:
    """Past the gate if nothing is missing; else the page that says what is, where an owner may give a reason."""
    job = job_for(code)
    if leaving not in Stage.values:
        raise Http404
    if request.method == "GET" and leaving != job.stage:
        return redirect("board:job", code)
    form = ReasonForm(request.POST if request.POST.get("reason") is not None else None)
    if request.method == "POST" and (not form.is_bound or form.is_valid()):
        reason = form.cleaned_data["reason"] if form.is_bound else ""
        try:
            where = on_to_next_stage(job, actor_of(request), leaving=Stage(leaving), reason=reason)
        except actions.GateClosedError:
            pass  # the page below says what is missing
        except actions.JobRuleError as refusal:
            messages.error(request, str(refusal))
            return redirect("board:job", code)
        else:
            return redirect(where)
    status = 422 if request.method == "POST" else 200
    return render(
        request, "jobs/board/go_on.html", job_context(request, job, form=form, next_action=None), status=status
    )


def _reason_page(
    request: HttpRequest, job: Job, form: Form, *, title: str, action: str, explanation: str
) -> HttpResponse:
    """A form that asks why, on a page of its own."""
    context = job_context(
        request, job, form=form, title=title, action=action, explanation=explanation, next_action=None
    )
    return render(request, "jobs/board/reason.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def send_back(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    earlier = job.stages[: job.stages.index(Stage(job.stage))]
    form = SendBackForm(request.POST or None, earlier=earlier)
    if form.is_valid():
        try:
            actions.send_back(
                job=job,
                stage=Stage(form.cleaned_data["stage"]),
                reason=form.cleaned_data["reason"],
                actor=actor_of(request),
            )
        except actions.JobRuleError as refusal:
            messages.error(request, str(refusal))
        return redirect("board:job", code)
    return _reason_page(
        request,
        job,
        form,
        title="Send back to an earlier stage",
        action="Send back",
        explanation="All entries stay. The reason goes into the journal.",
    )


@require_http_methods(["GET", "POST"])
@permission_required("pass_gates")
def kind(request: HttpRequest, code: str) -> HttpResponse:
    """Another kind of job, which has other stages and other lists."""
    job = job_for(code)
    form = KindForm(request.POST or None, initial={"kind": job.kind})
    if form.is_valid():
        typed = form.cleaned_data
        try:
            actions.change_kind(job=job, kind=JobKind(typed["kind"]), reason=typed["reason"], actor=actor_of(request))
        except actions.JobRuleError as refusal:
            messages.error(request, str(refusal))
        return redirect("board:job", code)
    return _reason_page(
        request,
        job,
        form,
        title="Change kind of job",
        action="Save",
        explanation="All entries stay. Stages and lists change. The reason goes into the journal.",
    )


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def hold(request: HttpRequest, code: str) -> HttpResponse:
    return _put_aside(request, code, JobState.ON_HOLD, title="Put job on hold", action="Put on hold")


@require_http_methods(["GET", "POST"])
@permission_required("book_jobs")
def abandon(request: HttpRequest, code: str) -> HttpResponse:
    return _put_aside(request, code, JobState.ABANDONED, title="Abandon job", action="Abandon job")


def _put_aside(request: HttpRequest, code: str, state: JobState, *, title: str, action: str) -> HttpResponse:
    job = job_for(code)
    form = HoldForm(request.POST or None)
    if form.is_valid():
        actions.put_aside(job=job, state=state, reason=form.cleaned_data["reason"], actor=actor_of(request))
        return redirect("board:job", code)
    return _reason_page(
        request, job, form, title=title, action=action, explanation="All entries stay. The job can be resumed."
    )


@require_POST
@permission_required("book_jobs")
def take_up(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    actions.take_up_again(job=job, actor=actor_of(request))
    return redirect("board:job", code)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def unit(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = UnitForm(request.POST or None, vehicle=job.vehicle, initial={"unit": job.unit})
    if form.is_valid():
        try:
            actions.choose_unit(job=job, unit=form.cleaned_data["unit"], actor=actor_of(request))
        except actions.JobRuleError as refusal:
            form.add_error("unit", str(refusal))
        else:
            return redirect("board:job", code)
    context = job_context(request, job, form=form, next_action=None)
    return render(request, "jobs/board/unit.html", context, status=422 if form.is_bound else 200)


@require_POST
def cautions_read(request: HttpRequest, code: str) -> HttpResponse:
    """Whoever is signed in has read the cautions of the page, which from now on stand there by their names."""
    job = job_for(code)
    actions.read_cautions(job=job, titles=request.POST.getlist("caution"), actor=actor_of(request))
    return redirect(onward(request, reverse("board:job", args=[code])))


@require_http_methods(["GET", "POST"])
@gzip_page
def journal(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    form = NoteForm(request.POST or None)
    if form.is_valid():
        actions.note(job=job, actor=actor_of(request), **form.cleaned_data)
        return redirect("board:journal", code)
    lines = job.journal.select_related("by", "device")
    page = page_by_key(lines, request.GET, order=("-at", "-pk"), length=LINES_A_PAGE)
    context = job_context(request, job, page=page, lines=with_stages(page), note_form=form)
    return render(request, "jobs/board/journal.html", context, status=422 if form.is_bound else 200)
