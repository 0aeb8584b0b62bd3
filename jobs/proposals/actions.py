"""Deciding a proposal: what is accepted becomes the draft of the next version."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction

from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.append import append_new
from garage.record.events import Event
from garage.record.idempotency import SentBeforeError
from garage.record.refusals import RuleRefusedError
from jobs.job import journal
from jobs.job.models import Job
from jobs.maps import queries as maps
from jobs.maps.actions import start_version
from jobs.maps.models import MapVersion
from jobs.proposals.evidence import Logs
from jobs.proposals.models import Decision, PointEvidence, Proposal, ProposedPoint
from jobs.proposals.queries import OpenPoint, OpenProposal, open_proposal
from jobs.proposals.wording import change_in_words
from timing.roadlog import Part


class ProposalRefusedError(RuleRefusedError):
    """The proposal cannot be decided so, or not any more."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a person decided of one point. `change_deg` counts where they changed it; negative is less advance."""

    place: int
    decision: Decision
    change_deg: float = 0.0
    words: str = ""


@transaction.atomic
def decide(
    *, job: Job, id: UUID, basis: str, choices: Sequence[Choice], actor: Actor, logs: Logs | None = None
) -> Proposal:
    """Decide every point of the proposal that was seen, and start the next version with what is accepted.

    `basis` is what the page showed (`OpenProposal.basis`): if the notes, the version or the decision is another by
    now, nothing is decided.

    Raises
    ------
    ProposalRefusedError
        If it is no longer what was seen, was decided before, or a choice is missing or against the rules.
    SentBeforeError
        If the same page was sent before with other choices.
    """
    Job.objects.select_for_update().get(pk=job.pk)  # of two that decide at once, the second waits here
    job = Job.objects.with_car().get(pk=job.pk)  # as it is now: another unit may be in the car
    made = Proposal.objects.filter(pk=id).prefetch_related("points").first()
    if made is not None:
        _refuse_unless_same_choices(made, choices)
        return made
    seen = _still_open(job, basis, logs)
    changes = _changes(seen, choices)
    draft = None
    if any(changes.values()):
        draft = start_version(
            job=job,
            parent=seen.version,
            start=seen.with_changes(changes),
            reason=seen.reason(changes),
            origin=f"version {seen.version.number}, after the road test",
            actor=actor,
        )
    proposal = append_new(
        Proposal, id=id, actor=actor, job=job, map_version=seen.version, draft=draft, basis=seen.basis
    )
    by_place = {choice.place: choice for choice in choices}
    for point in seen.points:
        _keep(proposal, point, by_place[point.place], changes[point.place])
    journal.write(
        job,
        Event.PROPOSAL_DECIDED,
        _sentence(seen, by_place, changes, draft),
        actor=actor,
        version=seen.version.number,
        draft=draft.number if draft else None,
    )
    return proposal


def refuse_unless_seen(now: OpenProposal | None, basis: str) -> OpenProposal:
    """The proposal as it is now, if it is still the one that a page showed.

    Raises
    ------
    ProposalRefusedError
        If nothing is proven in the car, or the notes, the version or the limits are others by now.
    """
    if now is None:
        raise ProposalRefusedError("No map is proven in the car now. Read it back first.")
    if now.basis != basis:
        raise ProposalRefusedError("The notes or the map in the car have changed meanwhile. Look at it again.")
    return now


def _still_open(job: Job, basis: str, logs: Logs | None) -> OpenProposal:
    seen = refuse_unless_seen(open_proposal(job, logs=logs), basis)
    if seen.decision is not None:
        raise ProposalRefusedError(f"{seen.decision.by} has decided this proposal meanwhile.")
    newest = maps.newest_released(job)
    if newest is not None and newest.number > seen.version.number:
        raise ProposalRefusedError(f"Version {newest.number} is released. Key it in and drive it first.")
    return seen


def _changes(seen: OpenProposal, choices: Sequence[Choice]) -> dict[int, float]:
    """The change of each point, as it was decided."""
    if {choice.place for choice in choices} != {point.place for point in seen.points} or not seen.points:
        raise ProposalRefusedError("Decide every point.")
    by_place = {choice.place: choice for choice in choices}
    least = get_workshop().least_advance_deg
    changes = {}
    for point in seen.points:
        choice = by_place[point.place]
        change = {
            Decision.ACCEPT: point.change_deg,
            Decision.CHANGE: choice.change_deg,
            Decision.REFUSE: 0.0,
        }[choice.decision]
        if choice.decision == Decision.CHANGE:
            _refuse_unless_allowed(seen, point, choice, least)
        changes[point.place] = change
    return changes


def _refuse_unless_allowed(seen: OpenProposal, point: OpenPoint, choice: Choice, least_deg: float) -> None:
    if not choice.words.strip():
        raise ProposalRefusedError(f"At {point.where}: say why it was changed.")
    if seen.is_giving_back:
        if not 0 < choice.change_deg <= point.change_deg:
            raise ProposalRefusedError(f"At {point.where}: give back at most {change_in_words(point.change_deg)}.")
        return
    if choice.change_deg >= 0:
        raise ProposalRefusedError(f"At {point.where}: after pinking only less advance. Refuse it to leave it.")
    lowest = least_deg - seen.target.base_deg if point.part == Part.REVS else 0.0
    if point.before_deg + choice.change_deg < lowest - 1e-9:
        limit = f"{least_deg:g}° in all" if point.part == Part.REVS else "no vacuum advance"
        raise ProposalRefusedError(f"At {point.where}: that goes below {limit}. It is the workshop's limit.")


def _keep(proposal: Proposal, point: OpenPoint, choice: Choice, change_deg: float) -> None:
    kept = ProposedPoint.objects.create(
        proposal=proposal,
        place=point.place,
        part=point.part,
        rpm=point.rpm,
        vacuum_kpa=point.vacuum_kpa,
        before_deg=point.before_deg,
        proposed_deg=point.change_deg,
        decision=choice.decision,
        change_deg=change_deg,
        words=choice.words,
    )
    for piece, weight in point.evidence:
        PointEvidence.objects.create(
            point=kept,
            note=piece.note,
            run=piece.run,
            rpm=piece.place.rpm,
            vacuum_kpa=piece.place.vacuum,
            severity=piece.severity,
            confidence=piece.confidence,
            lasted_s=piece.lasted_s,
            weight=round(weight, 6),
        )


def _sentence(
    seen: OpenProposal, choices: dict[int, Choice], changes: dict[int, float], draft: MapVersion | None
) -> str:
    said = []
    for point in seen.points:
        choice = choices[point.place]
        done = "refused" if choice.decision == Decision.REFUSE else change_in_words(changes[point.place])
        if choice.decision == Decision.CHANGE:
            done += f" instead of {change_in_words(point.change_deg)}"
        said.append(f"{point.where}: {done}{f' ({choice.words})' if choice.words else ''}")
    outcome = f"draft {draft.number}" if draft else "no change"
    return f"Proposal from the road for version {seen.version.number} decided, {outcome}: {'; '.join(said)}"


def _refuse_unless_same_choices(made: Proposal, choices: Sequence[Choice]) -> None:
    kept = {
        (point.place, point.decision, point.change_deg if point.decision == Decision.CHANGE else 0.0, point.words)
        for point in made.points.all()
    }
    if kept != {(one.place, str(one.decision), one.change_deg, one.words) for one in choices}:
        raise SentBeforeError
