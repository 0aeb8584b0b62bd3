"""Changing a job: booking it, taking it from stage to stage, putting it aside."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from garage.customers import actions as customers
from garage.customers.models import Customer
from garage.lists.numbers import bare, without_separators
from garage.people.models import Staff
from garage.record.actor import Actor
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from garage.record.models import TrailEntry
from garage.record.refusals import RuleRefusedError
from garage.record.row_versions import already_holds, save_if_unchanged
from garage.rota.models import Bay
from garage.units import actions as units
from garage.units.models import FittedUnit
from garage.vehicles import actions as vehicles
from garage.vehicles.models import Vehicle
from jobs.job import journal, planning, stages
from jobs.job.cautions import TITLES
from jobs.job.models import STAGES, STAGES_OF, CautionRead, GateCrossing, Job, JobKind, JobSerial, JobState, Stage


class JobRuleError(RuleRefusedError):
    """Something the rules of a job forbid. The message is for the person who asked."""


class GateClosedError(JobRuleError):
    """The stage still wants something. `missing` says what."""

    def __init__(self, missing: list[str]) -> None:
        super().__init__("Still missing: " + "; ".join(missing))
        self.missing = missing


@transaction.atomic
def book_job(
    *,
    vehicle: Vehicle,
    wanted: str,
    idempotency_key: UUID,
    actor: Actor,
    complaint: str = "",
    booked_for: date | None = None,
    promised_for: date | None = None,
    mechanic: Staff | None = None,
    bay: Bay | None = None,
    unit: FittedUnit | None = None,
    kind: str = JobKind.CONVERSION,
    odometer: int | None = None,
    odometer_unit: str = "miles",
) -> Job:
    """Book `vehicle` in under the next number of the year. The same `idempotency_key` again gives the same job.

    A car that comes back comes with the unit that is in it.

    Raises
    ------
    JobRuleError
        If its days do not go together, or its mechanic is away then.
    """
    year = timezone.localdate(actor.at).year
    serial = _serial_locked(year)  # before looking: of one form sent twice at once, the second waits here
    known = Job.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        typed = {
            "vehicle": vehicle, "wanted": wanted, "complaint": complaint, "booked_for": booked_for, "kind": kind,
            "promised_for": promised_for, "mechanic": mechanic, "bay": bay, "odometer": odometer,
        }  # fmt: skip
        refuse_unless_same(known, typed)
        return known
    _refuse_days(planning.Days(booked_for, promised_for, mechanic), timezone.localdate(actor.at))
    serial.last += 1
    serial.save(update_fields=["last"])
    job = Job.objects.create(
        code=f"{year % 100:02d}-{serial.last:04d}",
        vehicle=vehicle,
        unit=unit or vehicle.units.filter(removed_at=None).order_by("pk").last(),
        kind=kind,
        wanted=wanted,
        complaint=complaint,
        booked_for=booked_for,
        promised_for=promised_for,
        mechanic=mechanic,
        bay=bay,
        odometer=odometer,
        odometer_unit=odometer_unit,
        made_at=actor.at,
        made_by=actor.person,
        idempotency_key=idempotency_key,
    )
    journal.write(job, Event.BOOKED, f"Booked: {wanted}", actor=actor, booked_for=str(booked_for or ""))
    return job


@transaction.atomic
def book_new_car(
    *, registration: str, maker: str, model: str, phone: str, name: str, idempotency_key: UUID, actor: Actor, **job: Any
) -> Job:
    """Book a car that nobody knows yet: the car and its customer are made on the way. Twice is once.

    A customer of the same telephone number is the same customer. Without a name the number stands for it.
    """
    by_phone = Customer.objects.alias(bare_phone=without_separators("phone")).filter(bare_phone=bare(phone))
    known = by_phone.first() if bare(phone) else None
    customer = known or customers.enter_customer(
        idempotency_key=uuid5(idempotency_key, "customer"), actor=actor, name=name or phone, phone=phone
    )
    values = {"customer": customer, "registration": registration, "maker": maker, "model": model}
    vehicle = vehicles.enter_vehicle(
        idempotency_key=uuid5(idempotency_key, "car"), actor=actor, values=values, parts={}
    )
    return book_job(vehicle=vehicle, idempotency_key=idempotency_key, actor=actor, **job)


def _serial_locked(year: int) -> JobSerial:
    """The serial of `year`. Its row stays locked until the booking is stored or given up: no gap, no double."""
    JobSerial.objects.get_or_create(year=year)
    return JobSerial.objects.select_for_update().get(year=year)


@transaction.atomic
def edit_booking(*, job: Job, row_version: int, actor: Actor, **values: Any) -> None:
    """Change what was booked.

    Raises
    ------
    JobRuleError
        If the days it is given now do not go together, or its mechanic is away then.
    StaleEditError
        If somebody else changed it in the meantime.
    """
    if already_holds(job, values):
        return
    before = {name: getattr(job, name) for name in values}
    was = planning.Days(job.booked_for, job.promised_for, job.mechanic)
    will_be = replace(was, **{name: value for name, value in values.items() if hasattr(was, name)})
    if will_be != was:
        _refuse_days(will_be, timezone.localdate(actor.at), before=was)
    save_if_unchanged(job, row_version=row_version, values=values)
    changed = {name: [_said(before[name]), _said(new)] for name, new in values.items() if before[name] != new}
    if changed:
        words = ", ".join(str(Job._meta.get_field(name).verbose_name) for name in changed)  # type: ignore[union-attr]
        journal.write(job, Event.BOOKING_CHANGED, f"Changed: {words}", actor=actor, changed=changed)


def _refuse_days(days: planning.Days, today: date, *, before: planning.Days | None = None) -> None:
    problems = planning.problems(days, today=today, before=before)
    if problems:
        raise JobRuleError(*problems.values())


def _said(value: Any) -> str:
    return "" if value is None else str(value)


@transaction.atomic
def go_on(*, job: Job, leaving: Stage, actor: Actor, reason: str = "") -> None:
    """Take the car from the stage `leaving` to the next one; once it is there, nothing happens.

    A button pressed twice takes a car one stage on, and an owner's reason lets it past the gate it was given for.

    Raises
    ------
    GateClosedError
        If something is missing and no owner's reason is given for going on without it.
    JobRuleError
        If the job is put aside, or somebody else took it on in the meantime.
    """
    if job.state != JobState.OPEN:
        raise JobRuleError(f"This job is {job.get_state_display()}. Resume it first.")
    if leaving not in job.stages:
        raise JobRuleError(f"A {job.get_kind_display()} has no {leaving.label}.")
    entered = job.following(leaving)
    if entered is None:
        raise JobRuleError("The job is at its last stage.")
    if job.stage == entered:
        return
    if job.stage != leaving:
        raise JobRuleError(f"The job is now at {job.get_stage_display()}. Look at it again.")
    missing = stages.progress_of(job, leaving).missing
    if missing and not (reason and actor.person.has_perm("garage.pass_gates")):
        raise GateClosedError(missing)
    _move(job, leaving, entered, missing=missing, reason=reason if missing else "", actor=actor)
    sentence = f"{leaving.label} done, on to {entered.label}".capitalize()
    if missing:
        sentence = f"Overridden from {leaving.label} to {entered.label}, missing {'; '.join(missing)}: {reason}"
    journal.write(job, Event.STAGE_PASSED, sentence, actor=actor, left=leaving, entered=entered, missing=missing)


@transaction.atomic
def send_back(*, job: Job, stage: Stage, reason: str, actor: Actor) -> None:
    """Take the car back to an earlier stage, with the reason. What was recorded there stays."""
    left = Stage(job.stage)
    if job.state != JobState.OPEN or stage not in job.stages or STAGES.index(stage) >= STAGES.index(left):
        raise JobRuleError("A job goes back only to an earlier stage.")
    if not reason:
        raise JobRuleError("Give the reason.")
    _move(job, left, stage, missing=[], reason=reason, actor=actor)
    journal.write(
        job,
        Event.SENT_BACK,
        f"Sent back from {left.label} to {stage.label}: {reason}",
        actor=actor,
        left=left,
        entered=stage,
    )


@transaction.atomic
def change_kind(*, job: Job, kind: JobKind, reason: str, actor: Actor) -> None:
    """Make it a job of another kind, with the reason. What was recorded stays, and the car keeps its stage.

    Where the new kind has no such stage, the car stands at the last one before it.
    """
    job = Job.objects.select_for_update().get(pk=job.pk)
    if job.kind == kind:  # sent twice
        return
    if job.state != JobState.OPEN:
        raise JobRuleError("Resume the job first.")
    if not reason:
        raise JobRuleError("Give the reason.")
    was, left = JobKind(job.kind), Stage(job.stage)
    entered = max((stage for stage in STAGES_OF[kind] if not stages.is_before(left, stage)), key=STAGES.index)
    Job.objects.filter(pk=job.pk).update(kind=kind, row_version=F("row_version") + 1)
    if entered != left:
        _move(job, left, entered, missing=[], reason=reason, actor=actor)
    sentence = f"Kind of job: {was.label}, now {kind.label}: {reason}"
    journal.write(job, Event.KIND_CHANGED, sentence, actor=actor, before=was, after=kind, entered=entered)


def _move(job: Job, left: Stage, entered: Stage, *, missing: list[str], reason: str, actor: Actor) -> None:
    # A conditional update: of two people pressing at once, one is first and the other is told.
    standing = Job.objects.filter(pk=job.pk, stage=left, state=JobState.OPEN)
    if not standing.update(stage=entered, row_version=F("row_version") + 1):
        raise JobRuleError("Someone else moved this job meanwhile. Look at it again.")
    job.refresh_from_db()
    GateCrossing.objects.create(
        job=job, left=left, entered=entered, missing=missing, reason=reason, by=actor.person, at=actor.at
    )


@transaction.atomic
def put_aside(*, job: Job, state: JobState, reason: str, actor: Actor) -> None:
    """Put a job on hold, or abandon it; never without a reason."""
    if state == JobState.OPEN:
        raise JobRuleError("Put on hold or abandon.")
    if not reason:
        raise JobRuleError("Give the reason.")
    others = Job.objects.filter(pk=job.pk).exclude(state=state, state_reason=reason)
    won = others.update(state=state, state_reason=reason, row_version=F("row_version") + 1)
    job.refresh_from_db()
    if not won:  # sent twice
        return
    journal.write(job, Event.PUT_ASIDE, f"{state.label.capitalize()}: {reason}", actor=actor, state=state)


@transaction.atomic
def take_up_again(*, job: Job, actor: Actor) -> None:
    """Work goes on where it was left; on a job that is open nothing happens."""
    was = job.get_state_display()
    aside = Job.objects.filter(pk=job.pk).exclude(state=JobState.OPEN)
    won = aside.update(state=JobState.OPEN, state_reason="", row_version=F("row_version") + 1)
    job.refresh_from_db()
    if not won:
        return
    journal.write(job, Event.TAKEN_UP, f"Resumed, was {was}", actor=actor)


@transaction.atomic
def choose_unit(*, job: Job, unit: FittedUnit, actor: Actor) -> None:
    """Say which unit this job is about: it is in the car from now on, and whichever was there before has come out.

    Raises
    ------
    JobRuleError
        If the unit has gone into another car in the meantime.
    """
    unit = FittedUnit.objects.select_for_update(of=("self",)).get(pk=unit.pk)
    in_some_car = unit.vehicle is not None and unit.removed_at is None
    if in_some_car and unit.vehicle != job.vehicle:
        raise JobRuleError(f"{unit} is now in {unit.vehicle}.")
    if in_some_car and job.unit == unit:  # sent twice
        return
    before = str(job.unit or "")
    if job.unit is not None and job.unit.pk != unit.pk:
        units.take_out(unit=job.unit, actor=actor)
    units.put_in_car(unit=unit, vehicle=job.vehicle, actor=actor)
    Job.objects.filter(pk=job.pk).update(unit=unit, row_version=F("row_version") + 1)
    job.refresh_from_db()
    journal.write(job, Event.UNIT_CHOSEN, f"Unit: {unit}", actor=actor, before=before, after=str(unit))


@transaction.atomic
def note(*, job: Job, words: str, idempotency_key: UUID, actor: Actor) -> None:
    """A free line in the journal; the same `idempotency_key` again is the same line."""
    Job.objects.select_for_update().get(pk=job.pk)  # of one form sent twice at once, the second waits here
    known = TrailEntry.objects.filter(idempotency_key=idempotency_key).first()
    if known:
        refuse_unless_same(known, {"job_id": job.pk, "sentence": words})
    else:
        journal.write(job, Event.NOTED, words, actor=actor, idempotency_key=idempotency_key)


@transaction.atomic
def read_cautions(*, job: Job, titles: Iterable[str], actor: Actor) -> None:
    """The actor has read these cautions at this job today. Twice is once; a title that is none is passed over."""
    day = timezone.localdate(actor.at)
    known = set(CautionRead.objects.filter(job=job, person=actor.person, day=day).values_list("title", flat=True))
    read = [title for title in dict.fromkeys(titles) if title in TITLES and title not in known]
    if not read:
        return
    CautionRead.objects.bulk_create(
        [CautionRead(job=job, person=actor.person, day=day, title=title) for title in read], ignore_conflicts=True
    )
    journal.write(job, Event.CAUTIONS_READ, f"Cautions read: {', '.join(read)}", actor=actor)
