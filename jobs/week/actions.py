"""Changing the plan: moving a car, and saying how long a kind of job takes."""

from datetime import date
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from garage.people.models import Staff
from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.trail import note_change
from garage.rota.models import Bay
from jobs.costs.models import UsualHours
from jobs.costs.queries import usual_hours
from jobs.job import actions as jobs
from jobs.job.actions import JobRuleError
from jobs.job.models import Job, JobKind, JobState, Stage


@transaction.atomic
def move(
    *,
    job: Job,
    row_version: int,
    booked_for: date | None,
    promised_for: date | None,
    mechanic: Staff | None,
    bay: Bay | None,
    actor: Actor,
) -> None:
    """Give a car other days, another mechanic or another bay.

    Raises
    ------
    jobs.job.actions.JobRuleError
        If the car is not to be moved so: it is here already, handed over or put aside; the day is over; its days do not
        go together; or its mechanic is away.
    StaleEditError
        If somebody else changed the booking in the meantime.
    """
    today = timezone.localdate(actor.at)
    job.refresh_from_db()
    if job.state != JobState.OPEN:
        raise JobRuleError(f"This job is {job.get_state_display()}. Resume it first.")
    if job.stage == Stage.AFTER_CARE:
        raise JobRuleError("This car was handed over.")
    if booked_for != job.booked_for:
        if job.stage != Stage.BOOKED:
            raise JobRuleError("This car is here already. Move its promised day.")
        _refuse_past(booked_for, today)
    if promised_for != job.promised_for:
        _refuse_past(promised_for, today)
    jobs.edit_booking(
        job=job, row_version=row_version, booked_for=booked_for, promised_for=promised_for, mechanic=mechanic, bay=bay,
        actor=actor,
    )  # fmt: skip


def _refuse_past(day: date | None, today: date) -> None:
    if day is not None and day < today:
        raise JobRuleError("That day is over. Choose today or later.")


@transaction.atomic
def set_usual_hours(*, hours: dict[str, Decimal], actor: Actor) -> None:
    """Say how long a job of each kind usually takes. [hours]"""
    before = usual_hours()
    changed = {kind: now for kind, now in hours.items() if now != before[kind]}
    for kind, now in changed.items():
        UsualHours.objects.update_or_create(kind=kind, defaults={"hours": now})
    said = {kind: f"usual hours, {JobKind(kind).label}" for kind in changed}
    note_change(
        get_workshop(),
        before={said[kind]: f"{before[kind]:f}" for kind in changed},
        after={said[kind]: f"{now:f}" for kind, now in changed.items()},
        actor=actor,
    )
