"""Taking a car to its next stage, and to the page where the work of that stage begins."""

from django.http import HttpRequest

from garage.people.actor import actor_of
from garage.record.actor import Actor
from garage.record.refusals import RuleRefusedError
from jobs.checklists import queries as checklists
from jobs.checklists.actions import begin_sheet
from jobs.checklists.onward import SHEET_OF
from jobs.job import actions, stages
from jobs.job.models import Job, Stage
from jobs.job.pages import job_for


def on_to_next_stage(job: Job, actor: Actor, *, leaving: Stage | None = None, reason: str = "") -> str:
    """Past the gate of `leaving`, or of the stage it is at; the address where the work goes on.

    Where one list alone suits the new stage, its sheet is begun: there is nothing to choose.

    Raises
    ------
    GateClosedError, JobRuleError
        As `jobs.job.actions.go_on` does.
    """
    actions.go_on(job=job, leaving=leaving or Stage(job.stage), actor=actor, reason=reason)
    kind = SHEET_OF.get(Stage(job.stage))
    revision = checklists.only_list_for(job, kind) if kind else None
    if kind and revision:
        begin_sheet(job=job, kind=kind, revision=revision, actor=actor)
    return stages.work_url(job_for(job.code))


def onward_after(request: HttpRequest, job: Job, otherwise: str) -> str:
    """Where 'Save and go to …' leads: on, where what was saved leaves nothing missing; else to what it says of it."""
    job = job_for(job.code)
    if "go" not in request.POST or job.next_stage is None or stages.progress_of(job, Stage(job.stage)).missing:
        return otherwise
    try:
        return on_to_next_stage(job, actor_of(request))
    except RuleRefusedError:  # put aside, or taken on by somebody else: the page says where it stands
        return otherwise
