"""The pages of a proposal, of its decision, and of where a figure comes from."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from garage.people.access import permission_required
from garage.people.actor import actor_of
from jobs.job.models import Job, Stage
from jobs.job.pages import job_context, job_for
from jobs.maps.shortcuts import job_and_version
from jobs.proposals import actions, pictures
from jobs.proposals.actions import ProposalRefusedError
from jobs.proposals.advice import advice_for
from jobs.proposals.forms import CellForm, DecisionForm
from jobs.proposals.models import Proposal
from jobs.proposals.origin import origin_of
from jobs.proposals.queries import OpenProposal, open_proposal
from jobs.proposals.wording import point_in_words
from timing.errors import TimingError


@require_http_methods(["GET", "POST"])
def page(request: HttpRequest, code: str) -> HttpResponse:
    """What the road speaks for now; decided here by those who may."""
    if request.method == "POST":
        return _decide(request, code)
    job = job_for(code)
    proposal = open_proposal(job)
    form = DecisionForm(proposal=proposal) if proposal and proposal.waits else None
    return _page(request, job, proposal, form)


@permission_required("record_readings")
def _decide(request: HttpRequest, code: str) -> HttpResponse:
    job = job_for(code)
    proposal = open_proposal(job)
    form = None
    try:
        seen = actions.refuse_unless_seen(proposal, request.POST.get("basis", ""))
        form = DecisionForm(request.POST, proposal=seen)
        if not form.is_valid():
            return _page(request, job, proposal, form, status=422)
        made = actions.decide(
            job=job,
            id=form.cleaned_data["id"],
            basis=form.cleaned_data["basis"],
            choices=form.choices(),
            actor=actor_of(request),
        )
    except ProposalRefusedError as refusal:
        now = open_proposal(job)
        if form is None or now is None or not now.waits:
            form = DecisionForm(proposal=now) if now and now.waits else None
        return _page(request, job, now, form, refusal=refusal.reasons, status=409)
    if made.draft is None:
        return redirect("proposals:decided", code, made.pk)
    messages.success(request, f"Version {made.draft.number} started.")
    return redirect("bench:version", code, made.draft.number)


def _page(
    request: HttpRequest,
    job: Job,
    proposal: OpenProposal | None,
    form: DecisionForm | None,
    *,
    refusal: tuple[str, ...] = (),
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {"proposal": proposal, "form": form, "refusal": refusal, "next_action": None}
    if proposal is not None:
        unit = request.user.vacuum_unit  # type: ignore[union-attr]
        context |= {
            "advice": advice_for(proposal.notes),
            "drafts": proposal.version.children.filter(released_at=None, set_aside_at=None),
        }
        if proposal.points:
            context["curve"] = pictures.curve_picture(proposal)
            context["vacuum"] = pictures.vacuum_picture(proposal, pressure_unit=unit)
    return render(
        request, "jobs/proposals/page.html", job_context(request, job, Stage.ROAD_TEST, **context), status=status
    )


@require_GET
def decided(request: HttpRequest, code: str, pk: UUID) -> HttpResponse:
    """A proposal as it was decided: point by point, by whom, and what it rested on."""
    job = job_for(code)
    made = get_object_or_404(
        Proposal.objects.filter(job=job)
        .select_related("by", "map_version", "draft")
        .prefetch_related("points__evidence__note__run__driver", "points__evidence__note__by", "points__evidence__run"),
        pk=pk,
    )
    points = [(point, point_in_words(point, made.map_version.vacuum_unit)) for point in made.points.all()]
    context = job_context(request, job, Stage.ROAD_TEST, made=made, points=points, next_action=None)
    return render(request, "jobs/proposals/decided.html", context)


@require_GET
def why(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """Where the figure at one place of a version comes from, back to its start."""
    job, version = job_and_version(code, number)
    if not version.can_be_relied_on():
        return redirect("bench:version", code, number)  # which says why
    unit = request.user.vacuum_unit  # type: ignore[union-attr]
    asked = request.GET if "rpm" in request.GET else None
    form = CellForm(asked, vacuum_unit=unit)
    origin = None
    if form.is_valid():
        try:
            origin = origin_of(version, rpm=form.cleaned_data["rpm"], vacuum_kpa=form.cleaned_data["vacuum_kpa"] or 0.0)
        except TimingError as problem:
            form.add_error(None, str(problem).capitalize())
    context = job_context(
        request,
        job,
        Stage.MAP,
        version=version,
        form=form,
        origin=origin,
        asked=request.GET.urlencode(),
        next_action=None,
    )
    return render(request, "jobs/proposals/why.html", context, status=422 if form.errors else 200)
