"""Starting a version: the first of a job, one that goes on from another, one for another unit type."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.text import capfirst
from django.views.decorators.http import require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.quantities.words import plain
from garage.record.refusals import RuleRefusedError
from garage.site.uploads import takes_files_up_to
from garage.units.forms import newest_revisions
from garage.units.models import UnitTypeRevision
from jobs.bench import start_maps as starts
from jobs.bench.forms import SheetForm
from jobs.bench.from_sheet import read_sheet
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for
from jobs.likeness.band import like_count
from jobs.maps import actions
from jobs.maps.actions import MapRefusedError
from jobs.maps.forms import MOST_REASON, NextForm, RefitForm, SearchForm, StartForm
from jobs.maps.models import CurvePattern, MapVersion
from jobs.maps.shortcuts import job_and_version
from jobs.maps.unit_fit import fit_to_unit
from jobs.roadtest import queries as roadtest
from jobs.settings_file.out_of_pdf import LARGEST_PDF, TOO_LARGE
from timing.errors import TimingError
from timing.unit import UnitType


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def start(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    if job.unit is None:
        return redirect("board:unit", code)
    search = SearchForm(request.GET if any(request.GET.get(name) for name in SearchForm.base_fields) else None)
    found = _other_cars(job, search)
    initial = {"start": _first_choice(job), "base_deg": _likely_base(job)}
    form = StartForm(
        request.POST or None,
        choices=_choices(job, found),
        unit=job.unit.revision.holds(),
        vacuum_unit=request.user.vacuum_unit,  # type: ignore[union-attr]
        initial=initial,
    )
    if form.is_valid():
        try:
            chosen = _start(job, **{name: form.cleaned_data[name] for name in ("start", "points", "base_deg")})
            chosen = chosen.with_ramp(form.ramp())
            version = actions.start_version(
                job=job,
                parent=None,
                reason=form.cleaned_data["reason"],
                start=chosen.map,
                origin=chosen.origin,
                copied_from=chosen.copied_from,
                pattern=chosen.pattern,
                entered_in={
                    "vacuum_unit": request.user.vacuum_unit,  # type: ignore[union-attr]
                    **form.vacuum_read_in(),
                },
                idempotency_key=form.cleaned_data["idempotency_key"],
                actor=actor_of(request),
            )
            return redirect("bench:version", code, version.number)
        except TimingError as problem:
            form.add_error("points", capfirst(f"{problem}."))
        except MapRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
    context = job_context(
        request,
        job,
        Stage.MAP,
        form=form,
        search=search,
        others=found,
        patterns=CurvePattern.objects.filter(retired=False),
        has_band=starts.from_band(job.vehicle, 0.0) is not None,
        wear=starts.wear_as_found(job) if starts.from_sweep(job, 0.0) else [],
        next_action=None,
    )
    return render(request, "jobs/bench/start.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
@takes_files_up_to(LARGEST_PDF, TOO_LARGE)
def from_sheet(request: HttpRequest, code: str) -> HttpResponse:
    """Read a sheet, show what it holds and how it differs, and only then start a draft with it."""
    job = job_for(code)
    if job.unit is None:
        return redirect("board:unit", code)
    form = SheetForm(request.POST or None, request.FILES or None)
    found, status = None, 422 if form.is_bound else 200
    if form.is_valid():
        try:
            found = read_sheet(job, **form.sheet())
            status = 200
            if "start" in request.POST:
                version = actions.start_version(
                    job=job,
                    parent=None,
                    reason=form.cleaned_data["reason"],
                    start=found.map,
                    origin=found.origin,
                    entered_in={"vacuum_unit": request.user.vacuum_unit},  # type: ignore[union-attr]
                    idempotency_key=form.cleaned_data["idempotency_key"],
                    actor=actor_of(request),
                )
                return redirect("bench:version", code, version.number)
        except RuleRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
            status = 422
    context = job_context(request, job, Stage.MAP, form=form, found=found, next_action=None)
    return render(request, "jobs/bench/from_sheet.html", context, status=status)


def _other_cars(job: Job, search: SearchForm) -> list[starts.OtherCar]:
    if not search.is_bound or not search.is_valid():
        return starts.other_cars(job)
    return starts.other_cars(job, **search.cleaned_data)


def _choices(job: Job, found: list[starts.OtherCar]) -> list[tuple[str, str]]:
    choices = [("blank", "Blank: no advance at any point")]
    if starts.from_band(job.vehicle, 0.0) is not None:
        choices.append(("band", "Middle of the factory band, in crank degrees"))
    if starts.from_sweep(job, 0.0) is not None:
        choices.append(("sweep", "Advance of this car as found"))
    if count := like_count(job.vehicle):
        choices.append(("like", f"Median of {count} like this one"))
    choices += [
        (f"pattern-{one.pk}", f"Template curve '{one.name}'") for one in CurvePattern.objects.filter(retired=False)
    ]
    choices += [
        (
            f"version-{row.version.pk}",
            f"Version {row.version.number} of {row.version.job.code}, {row.version.job.vehicle}",
        )
        for row in found
    ]
    return choices


def _first_choice(job: Job) -> str:
    return "band" if starts.from_band(job.vehicle, 0.0) is not None else "blank"


def _likely_base(job: Job) -> float | None:
    """The factory's base timing, on the steps of the unit."""
    base = job.vehicle.distributor.base_timing_deg
    steps = job.unit.revision.holds().base if job.unit else None
    return base if base is None or steps is None else steps.nearest(base)


def _start(job: Job, start: str, points: list[list[float]], base_deg: float) -> starts.Start:
    """From the points that were typed, or the start that was chosen, which the form has seen to be offered."""
    assert job.unit is not None  # noqa: S101 - the page asks for it first
    unit = job.unit.revision.holds()
    chosen = starts.typed(points, base_deg) if points else _chosen(job, start, unit, base_deg)
    return chosen.with_base(base_deg).with_rev_limit(job.vehicle.engine.red_line_rpm, unit)


def _chosen(job: Job, choice: str, unit: UnitType, base_deg: float) -> starts.Start:
    kind, _, pk = choice.partition("-")
    if kind == "pattern":
        return starts.from_pattern(CurvePattern.objects.get(pk=pk))
    if kind == "version":
        return starts.from_version(MapVersion.objects.select_related("job__vehicle").get(pk=pk))
    if kind == "band" and (band := starts.from_band(job.vehicle, base_deg)):
        return band
    if kind == "sweep" and (found := starts.from_sweep(job, base_deg)):
        return found
    if kind != "like":
        return starts.blank(unit, base_deg)
    like = starts.from_like_cars(job, unit, base_deg)
    if like is None:
        raise MapRefusedError("Fewer than three like cars have a sound map. Choose another start.")
    return like


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def next_version(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, parent = job_and_version(code, number)
    if not parent.can_be_relied_on():
        return redirect("bench:version", code, number)  # which says why
    noted = roadtest.reason_for_next_version(*parent.road_runs.all())
    form = NextForm(request.POST or None, initial={"reason": request.GET.get("reason", noted)[:MOST_REASON]})
    if form.is_valid():
        try:
            version = actions.start_version(job=job, parent=parent, actor=actor_of(request), **form.cleaned_data)
            return redirect("bench:version", code, version.number)
        except MapRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
    drafts = parent.children.filter(released_at=None, set_aside_at=None)
    context = job_context(request, job, Stage.MAP, version=parent, form=form, drafts=drafts, next_action=None)
    return render(request, "jobs/bench/next.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def refit(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, version = job_and_version(code, number)
    if not version.can_be_relied_on():
        return redirect("bench:version", code, number)
    others = _revisions_for(job, version)
    fitted = job.unit.revision_id if job.unit else None
    form = RefitForm(request.POST or None, revisions=others, initial={"revision": fitted})
    if form.is_valid():
        revision = form.cleaned_data["revision"]
        try:
            made = actions.start_version(
                job=job,
                parent=version,
                unit_revision=revision,
                reason=form.cleaned_data["reason"],
                origin=f"version {version.number}, converted from {version.unit_revision} to {revision}"[:200],
                idempotency_key=form.cleaned_data["idempotency_key"],
                actor=actor_of(request),
            )
            return redirect("bench:version", code, made.number)
        except MapRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
    costs = [_cost(version, revision, fitted) for revision in others]
    context = job_context(request, job, Stage.MAP, version=version, form=form, costs=costs, next_action=None)
    return render(request, "jobs/bench/refit.html", context, status=422 if form.is_bound else 200)


def _revisions_for(job: Job, version: MapVersion) -> Any:
    """The newest description of every type, and that of the unit in the car, except the one it is already made for."""
    pks = set(newest_revisions().values_list("pk", flat=True))
    if job.unit is not None:
        pks.add(job.unit.revision_id)
    revisions = UnitTypeRevision.objects.filter(pk__in=pks).exclude(pk=version.unit_revision_id)
    return revisions.select_related("unit_type").order_by("unit_type__name")


def _cost(version: MapVersion, revision: UnitTypeRevision, fitted: int | None) -> dict[str, Any]:
    """What going over to another unit type costs this map, or where it cannot hold it."""
    unit_fit = fit_to_unit(version.ignition_map(), revision.holds())
    return {
        "revision": revision,
        "in_car": revision.pk == fitted,
        "fitted": unit_fit.fitted,
        "worst": plain(round(unit_fit.fitted.worst_error, 2)) if unit_fit.fitted else "",
        "problems": unit_fit.problems,
        "url": reverse("units:type", args=[revision.unit_type_id]),
    }
