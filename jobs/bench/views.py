"""The bench: a version looked at, changed, judged while it is being changed, released, set aside."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_http_methods, require_POST

from garage.people.access import permission_required
from garage.people.actor import actor_of
from garage.quantities.words import bare, pressure
from garage.record.row_versions import StaleEditError
from jobs.bench import released
from jobs.bench.local_drafts import carried_as, kept_as, typed_cells
from jobs.bench.version_on_bench import on_the_bench, other_settings
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context
from jobs.maps import actions, queries
from jobs.maps.actions import MapRefusedError
from jobs.maps.forms import ReleaseForm, SetAsideForm
from jobs.maps.map_form import MapForm, initial_of
from jobs.maps.models import MapVersion
from jobs.maps.paste import PasteError, pasted
from jobs.maps.shortcuts import job_and_version
from jobs.maps.table_fields import MOST_ROWS
from jobs.maps.version_tree import state_of
from timing.comparison import compare
from timing.review import Kind

TABLES = ("curve", "vacuum_table", "boost")
STORED_SENDING = "stored_sending"  # in the session: which of the sendings that a page names was the last one stored


@require_http_methods(["GET", "POST"])
@gzip_page
def version(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """A version on the bench; a draft is changed here by those who may."""
    if request.method == "POST":
        return _save(request, code, number)
    job, version = job_and_version(code, number)
    return render(request, "jobs/bench/version.html", _page(request, job, version, _form(request, version)))


@permission_required("record_readings")
def _save(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, version = job_and_version(code, number)
    form = _form(request, version)
    if not form.is_valid():
        return render(request, "jobs/bench/version.html", _page(request, job, version, form), status=422)
    try:
        actions.change_draft(
            draft=version,
            row_version=form.cleaned_data["row_version"],
            settings=form.settings(),
            actor=actor_of(request),
        )
    except StaleEditError as stale:
        return _both(request, job, stale.current, form)  # type: ignore[arg-type]
    except MapRefusedError as refusal:
        return _no_draft_any_more(request, job, version, form, refusal)
    request.session[STORED_SENDING] = request.POST.get("sending", "")[:100]
    messages.success(request, "Saved.")
    if request.POST.get("then") == "release":
        return redirect("bench:release", code, number)
    laid = f"?{request.GET.urlencode()}" if request.GET else ""  # what is laid underneath stays laid
    return redirect(reverse("bench:version", args=[code, number]) + laid)


def _no_draft_any_more(
    request: HttpRequest, job: Job, version: MapVersion, form: MapForm, refusal: MapRefusedError
) -> HttpResponse:
    """It was released or set aside while somebody was typing: how it stands now, and what was typed beside it."""
    difference = compare(version.ignition_map(), form.ignition_map(), _spoken_in(form.vacuum_in))
    context = _page(request, job, version, _form_of(version))
    context |= {"refusal": refusal.reasons, "difference": difference}
    return render(request, "jobs/bench/version.html", context, status=409)


def _both(request: HttpRequest, job: Job, standing: MapVersion, form: MapForm) -> HttpResponse:
    """Somebody stored in between: theirs and what was typed side by side; storing again stores what was typed."""
    form.rebase_on(standing.row_version)
    difference = compare(standing.ignition_map(), form.ignition_map(), _spoken_in(form.vacuum_in))
    context = _page(request, job, standing, form) | {"standing": standing, "difference": difference}
    return render(request, "jobs/bench/version.html", context, status=409)


@require_POST
@gzip_page
def judge(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """What the bench says of the figures as typed now, stored nowhere. Refused figures come back by name and place."""
    _, version = job_and_version(code, number)
    form = _form(request, version)
    if not form.is_valid():
        return JsonResponse({"refused": _refused(form)}, status=422)
    asked = request.POST.getlist("under")
    bench = on_the_bench(
        version,
        asked=asked,
        target=form.ignition_map(),
        vacuum_unit=form.vacuum_in,
        editable=True,
        narrow="narrow" in request.POST,
    )
    context = bench.context()
    answer: dict[str, Any] = {
        "chart": context["chart"].svg,
        "findings": render_to_string("jobs/bench/_findings.html", context, request),
        "fit": render_to_string("jobs/bench/_fit.html", context),
        "delivered": bench.delivered_figures(),
    }
    wants = request.POST.get("picture")
    if wants:
        answer["picture"] = render_to_string(
            "jobs/bench/_pictures.html", {"pictures": bench.pictures(), "bench": bench}, request
        )
    return JsonResponse(answer)


@require_POST
def typed(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """What differs in figures that a device kept from a version that is no draft any more; no content if nothing."""
    _, version = job_and_version(code, number)
    if not version.can_be_relied_on():
        return HttpResponse(status=409)  # its page says why
    form, standing = _form(request, version), _form_of(version)
    context: dict[str, Any] = {"now": "released" if version.released_at else "saved"}
    if form.is_valid():
        difference = compare(version.ignition_map(), form.ignition_map(), _spoken_in(form.vacuum_in))
        if difference.same:
            return HttpResponse(status=204)
        context["difference"] = difference
    else:
        context["cells"] = typed_cells(form, standing)
    return render(request, "jobs/bench/_typed_against.html", context)


def _refused(form: MapForm) -> dict[str, Any]:
    """Every refusal: of single boxes by their name, of cells by name and place, and the rest."""
    cells = [
        {"name": name, "place": place, "text": text}
        for field in TABLES
        for (name, place), text in form.fields[field].cell_errors.items()  # type: ignore[attr-defined]
    ]
    boxes = {name: [str(text) for text in errors] for name, errors in form.errors.items() if name not in TABLES}
    tables = [name for name in TABLES if name in form.errors and not form.fields[name].cell_errors]  # type: ignore[attr-defined]
    whole = [*form.non_field_errors(), *(text for name in tables for text in form.errors[name])]
    boxes.pop("__all__", None)
    return {"cells": cells, "boxes": boxes, "whole": [str(text) for text in whole]}


@require_POST
def paste(request: HttpRequest) -> HttpResponse:
    """Cells copied from a spreadsheet, understood as a whole or refused as a whole."""
    asked = request.POST.getlist("width")
    widths = [width for width in range(1, MOST_ROWS + 1) if str(width) in asked] or [1, 2]
    try:
        return JsonResponse({"rows": pasted(request.POST.get("text", "")[:20_000], widths)})
    except PasteError as refusal:
        return JsonResponse({"problem": str(refusal)}, status=422)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def release(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, version = job_and_version(code, number)
    if not version.is_draft:
        return redirect("bench:version", code, number)
    bench = on_the_bench(version)
    stops = [one for one in bench.findings if one.finding.kind is Kind.STOP]
    entitled = request.user.has_perm("garage.pass_gates")
    form = ReleaseForm(
        request.POST or None, needs_reason=bool(stops) and entitled, initial={"row_version": version.row_version}
    )
    if form.is_valid():
        try:
            actions.release(draft=version, actor=actor_of(request), **form.cleaned_data)
            messages.success(request, f"Version {number} released.")
            return redirect("maps:key-in", code, number)
        except MapRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
        except StaleEditError:
            form.add_error(None, "Changed meanwhile. Look at it again before you release it.")
    context = job_context(
        request,
        job,
        Stage.MAP,
        **{
            **bench.context(),
            "form": form,
            "stops": stops,
            "can_release": not bench.unit_fit.problems and not bench.unit_fit.open_entries and (entitled or not stops),
            "next_action": None,
        },
    )
    return render(request, "jobs/bench/release.html", context, status=422 if form.is_bound else 200)


@require_http_methods(["GET", "POST"])
@permission_required("record_readings")
def set_aside(request: HttpRequest, code: str, number: int) -> HttpResponse:
    job, version = job_and_version(code, number)
    form = SetAsideForm(request.POST or None, initial={"row_version": version.row_version})
    if form.is_valid():
        try:
            actions.set_aside(draft=version, actor=actor_of(request), **form.cleaned_data)
            return redirect("maps:page", code)
        except MapRefusedError as refusal:
            form.add_error(None, list(refusal.reasons))
        except StaleEditError:
            form.add_error(None, "Changed meanwhile. Look at it again before you discard it.")
    context = job_context(request, job, Stage.MAP, version=version, form=form, next_action=None)
    return render(request, "jobs/bench/set_aside.html", context, status=422 if form.is_bound else 200)


def _form(request: HttpRequest, version: MapVersion) -> MapForm:
    return _form_of(version, request.POST if request.method == "POST" else None)


def _form_of(version: MapVersion, data: Any = None) -> MapForm:
    return MapForm(data, unit=version.unit_revision.holds(), initial=initial_of(version))


def _page(request: HttpRequest, job: Job, version: MapVersion, form: MapForm) -> dict[str, Any]:
    """The page of one version: as stored, or as typed where that is a map at all."""
    editable = version.is_draft and request.user.has_perm("garage.record_readings")
    if not version.can_be_relied_on():
        return job_context(request, job, Stage.MAP, version=version, broken=True, next_action=None)
    typed = form.ignition_map() if form.is_bound and form.is_valid() else None
    bench = on_the_bench(
        version, asked=_asked(request, version), target=typed, vacuum_unit=form.vacuum_in, editable=editable
    )
    newest = queries.newest_released(job)
    now = queries.in_car(job)
    state = state_of(version, newest.number if newest else None)
    in_car = now.version is not None and now.version.pk == version.pk
    life = released.life_of(version, now) if version.released_at else []
    others = job.map_versions.exclude(pk=version.pk).filter(set_aside_at=None).order_by("number")
    return job_context(
        request,
        job,
        Stage.MAP,
        **{
            **bench.context(),
            "form": form,
            "editable": editable,
            "kept_as": kept_as(request.user, job, version),  # type: ignore[arg-type]
            "carried_as": carried_as(request.user, job, version.parent if editable else version),  # type: ignore[arg-type]
            STORED_SENDING: request.session.get(STORED_SENDING, ""),
            "settings": other_settings(version),
            "rows": _rows(form, bench.delivered_figures(), editable),
            "pictures": bench.pictures(),
            "state": state,
            "in_car": in_car,
            "life": life,
            "life_in_words": released.life_in_words(version, life),
            "findings_in_words": released.findings_in_words(bench.findings),
            "has_stop": released.has_stop(bench.findings),
            "others": [
                {"number": other.number, "curve": " ".join(f"{rpm}:{degrees}" for rpm, degrees in other.curve)}
                for other in others
                if other.can_be_relied_on()
            ],
            "step": bare(bench.unit.degree.step),
            **({"next_action": None} if editable else {}),
            **({"next_action": released.key_in_action(version)} if state == "released" and not in_car else {}),
        },
    )


def _asked(request: HttpRequest, version: MapVersion) -> list[str]:
    """The layers asked for in the address; at first the version it goes on from."""
    if "layers" in request.GET:
        return request.GET.getlist("under")
    return [f"version-{version.parent.number}"] if version.parent else ["band"]


def _rows(form: MapForm, delivered: list[str], editable: bool) -> list[dict[str, Any]]:
    """The rows of the curve's table with what the unit delivers beside each."""
    rows = form.curve_rows_to_type() if editable else form.curve_rows()
    return [
        {"rpm": rpm, "degrees": degrees, "delivered": delivered[place] if place < len(delivered) else ""}
        for place, (rpm, degrees) in enumerate(rows)
    ]


def _spoken_in(unit: str) -> Any:
    return lambda kpa: pressure(round(kpa, 3), unit)
