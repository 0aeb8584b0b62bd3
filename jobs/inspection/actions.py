"""Recording what was found on the car as it came in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction

from garage.people.queries import get_workshop
from garage.quantities.words import advance, plain, pressure
from garage.record.actor import Actor
from garage.record.append import append, withdraw
from garage.record.events import Event
from garage.record.refusals import RuleRefusedError
from jobs.inspection.failures import Failure, failures_of
from jobs.inspection.models import (
    CompressionReading,
    Fitness,
    InspectionVerdict,
    MarkCheck,
    SweepDirection,
    SweepReading,
)
from jobs.job import journal
from jobs.job.models import Job
from timing.crank import dead_centre_from_stop


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """What the gauge shows at one cylinder, in kPa, with the unit that was read and the id of the fact."""

    id: UUID
    cylinder: int
    gauge_kpa: float
    entered_unit: str


@transaction.atomic
def record_sweep_reading(
    *, job: Job, id: UUID, rpm: float, measured_deg: float, direction: str, actor: Actor
) -> SweepReading:
    reading, is_new = append(
        SweepReading, id=id, actor=actor, job=job, rpm=rpm, measured_deg=measured_deg, direction=direction
    )
    if is_new:
        way = SweepDirection(direction).label
        sentence = f"Old advance: {advance(measured_deg)} at {plain(rpm)} rpm, {way}"
        journal.write(
            job, Event.SWEEP_READ, sentence, actor=actor, rpm=rpm, measured_deg=measured_deg, direction=direction
        )
    return reading


@transaction.atomic
def withdraw_sweep_reading(*, reading: SweepReading, actor: Actor) -> None:
    """Take a reading back: another fact that supersedes it; the first one stays in the book."""
    if withdraw(reading, actor=actor):
        sentence = f"Undone: {advance(reading.measured_deg)} at {plain(reading.rpm)} rpm"
        journal.write(reading.job, Event.SWEEP_WITHDRAWN, sentence, actor=actor, reading=str(reading.pk))


@transaction.atomic
def record_mark_check(
    *, job: Job, id: UUID, first_deg: float, second_deg: float, mark_deg: float, actor: Actor
) -> MarkCheck:
    """Record a piston-stop check.

    Raises
    ------
    timing.errors.TimingError
        If the two contacts cannot give a dead centre: nothing is recorded then.
    """
    top = dead_centre_from_stop(first_deg, second_deg)
    check, is_new = append(
        MarkCheck,
        id=id,
        actor=actor,
        job=job,
        first_deg=first_deg,
        second_deg=second_deg,
        mark_deg=mark_deg,
        in_force={"tolerance_deg": get_workshop().mark_tolerance_deg},
    )
    if is_new:
        sentence = f"Piston stop: TDC at {plain(float(top), 2)}° on the wheel, by the mark {plain(mark_deg, 2)}°"
        journal.write(job, Event.MARK_CHECKED, sentence, actor=actor, top_deg=float(top), mark_deg=mark_deg)
    return check


@transaction.atomic
def record_compression(
    *, job: Job, id: UUID, cylinder: int, gauge_kpa: float, entered_unit: str, actor: Actor
) -> CompressionReading:
    """Record one cylinder. A second reading of a cylinder supersedes the first."""
    workshop = get_workshop()
    earlier = job.compression_readings.filter(cylinder=cylinder, successors=None).exclude(pk=id).last()
    reading, is_new = append(
        CompressionReading,
        id=id,
        actor=actor,
        supersedes=earlier,
        job=job,
        cylinder=cylinder,
        gauge_kpa=gauge_kpa,
        entered_unit=entered_unit,
        in_force={
            "altitude_m": workshop.altitude_m,
            "allowed_spread_percent": workshop.compression_spread_percent,
        },
    )
    if is_new:
        sentence = f"Compression, cylinder {cylinder}: {pressure(gauge_kpa, entered_unit)}"
        journal.write(job, Event.COMPRESSION_READ, sentence, actor=actor, cylinder=cylinder, gauge_kpa=gauge_kpa)
    return reading


@transaction.atomic
def record_compressions(*, job: Job, gauges: Sequence[Gauge], actor: Actor) -> None:
    """Record the cylinders that were read in one go: all of them, or none."""
    for gauge in gauges:
        record_compression(
            job=job,
            id=gauge.id,
            cylinder=gauge.cylinder,
            gauge_kpa=gauge.gauge_kpa,
            entered_unit=gauge.entered_unit,
            actor=actor,
        )


class VerdictRefusedError(RuleRefusedError):
    """The engine cannot be called that: something failed."""


@transaction.atomic
def give_verdict(
    *,
    job: Job,
    id: UUID,
    fitness: str,
    remarks: str,
    actor: Actor,
    remark_on: Mapping[str, str] | None = None,
    customer_told: str = "",
) -> InspectionVerdict:
    """Say whether the engine is fit; a later verdict supersedes the one before.

    `remark_on` is what is said of each failure, by its key. Where something stops, only the workshop's owner decides to
    go on, and says how the customer was told.

    Raises
    ------
    VerdictRefusedError
        If the engine is called ready although something failed, a failure is passed over in silence, or somebody else
        than the owner decides.
    """
    known = InspectionVerdict.objects.filter(pk=id).first()
    failures = [] if known or fitness == Fitness.TALK_TO_OWNER else failures_of(job)
    if not known:
        _refuse_verdict(fitness, failures, remark_on or {}, customer_told, actor)
    decided = [
        {"key": one.key, "failure": one.text, "stops": one.stops, "remark": (remark_on or {})[one.key]}
        for one in failures
    ]
    if known:
        decided = known.decided
    earlier = job.inspection_verdicts.filter(successors=None).exclude(pk=id).order_by("made_at").last()
    limits = get_workshop()
    verdict, is_new = append(
        InspectionVerdict,
        id=id,
        actor=actor,
        supersedes=earlier,
        job=job,
        fitness=fitness,
        remarks=remarks,
        decided=decided,
        customer_told=customer_told,
        in_force={
            name: getattr(limits, name)
            for name in ("mark_tolerance_deg", "compression_spread_percent", "least_sweep_speeds")
        },
    )
    if is_new:
        words = f"Verdict on the engine: {Fitness(fitness).label}" + (f". {remarks}" if remarks else "")
        words += "".join(f". {one['failure']}: {one['remark']}" for one in decided)
        words += f". Customer told: {customer_told}" if customer_told else ""
        journal.write(job, Event.ENGINE_JUDGED, words, actor=actor, fitness=fitness)
    return verdict


def _refuse_verdict(
    fitness: str, failures: list[Failure], remark_on: Mapping[str, str], customer_told: str, actor: Actor
) -> None:
    if not failures:
        return
    if fitness == Fitness.READY:
        raise VerdictRefusedError(f"Not ready: {failures[0].text}.")
    silent = [failure.text for failure in failures if not remark_on.get(failure.key, "").strip()]
    if silent:
        raise VerdictRefusedError(f"Say something about each: {silent[0]}.")
    if any(failure.stops for failure in failures):
        if not actor.person.has_perm("garage.pass_gates"):
            by_pin = " A PIN is not enough: sign in with your password."
            more = by_pin if actor.person.lacks_only_the_password("garage.pass_gates") else ""
            raise VerdictRefusedError(f"Only the owner decides on this: {failures[0].text}.{more}")
        if not customer_told.strip():
            raise VerdictRefusedError("Say how and when the customer was told.")
