"""What follows the readings of a session, shown on its own page: nobody goes back to look for it."""

from dataclasses import dataclass
from typing import Any

from jobs.job.models import Job
from jobs.strobe import queries
from jobs.strobe.final_check import final_check_of
from jobs.strobe.models import Purpose
from jobs.strobe.queries import Judged
from timing.strobe import VerdictKind


@dataclass(frozen=True, slots=True)
class Following:
    """One of three: the clamp to be checked, the strobe to be read again after turning, or the job's next action."""

    clamp: bool = False
    again: bool = False
    action: dict[str, Any] | None = None


def following(job: Job, found: Judged, next_action: dict[str, Any] | None) -> Following:
    """What comes after `found`; nothing while it wants more readings, or another session was read since."""
    if found.verdict is None or found.verdict.kind == VerdictKind.MORE_READINGS:
        return Following()
    if found.session.purpose == Purpose.BASE and _is_last(found, queries.base_proof(job)):
        if is_to_be_read_again(found):
            return Following(again=True)
        return Following(clamp=True) if queries.clamp_is_due(job, found) else Following(action=next_action)
    if found.session.purpose == Purpose.FINAL:
        check = final_check_of(job)
        if _is_last(found, check.found) and check.passes:
            return Following(action=next_action)
    return Following()


def is_to_be_read_again(found: Judged) -> bool:
    """Whether the readings of a base timing say what is to be done before the strobe is read once more."""
    return found.verdict is not None and found.verdict.kind != VerdictKind.MORE_READINGS and not found.holds


def _is_last(found: Judged, last: Judged | None) -> bool:
    return last is not None and last.session == found.session
