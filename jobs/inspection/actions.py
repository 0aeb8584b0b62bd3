"""Recording what was found on the car as it came in."""

from uuid import UUID

from django.db import transaction

from garage.quantities.words import advance, plain, pressure
from garage.record.actor import Actor
from garage.record.append import append, id_of_taking_back
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
        journal.write(job, "sweep-read", sentence, actor=actor, rpm=rpm, measured_deg=measured_deg, direction=direction)
    return reading


@transaction.atomic
def withdraw_sweep_reading(*, reading: SweepReading, actor: Actor) -> None:
    """Take a reading back: another fact that supersedes it; the first one stays in the book."""
    _, is_new = append(
        SweepReading,
        id=id_of_taking_back(reading),
        actor=actor,
        supersedes=reading,
        job=reading.job,
        rpm=reading.rpm,
        measured_deg=reading.measured_deg,
        direction=reading.direction,
        withdrawn=True,
    )
    if is_new:
        sentence = f"Undone: {advance(reading.measured_deg)} at {plain(reading.rpm)} rpm"
        journal.write(reading.job, "sweep-withdrawn", sentence, actor=actor, reading=str(reading.pk))


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
        MarkCheck, id=id, actor=actor, job=job, first_deg=first_deg, second_deg=second_deg, mark_deg=mark_deg
    )
    if is_new:
        sentence = f"Piston stop: TDC at {plain(float(top), 1)}° on the wheel, by the mark {plain(mark_deg, 1)}°"
        journal.write(job, "mark-checked", sentence, actor=actor, top_deg=float(top), mark_deg=mark_deg)
    return check


@transaction.atomic
def record_compression(
    *, job: Job, id: UUID, cylinder: int, gauge_kpa: float, entered_unit: str, actor: Actor
) -> CompressionReading:
    """Record one cylinder. A second reading of a cylinder supersedes the first."""
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
    )
    if is_new:
        sentence = f"Compression, cylinder {cylinder}: {pressure(gauge_kpa, entered_unit)}"
        journal.write(job, "compression-read", sentence, actor=actor, cylinder=cylinder, gauge_kpa=gauge_kpa)
    return reading


@transaction.atomic
def give_verdict(*, job: Job, id: UUID, fitness: str, remarks: str, actor: Actor) -> InspectionVerdict:
    """Say whether the engine is fit; a later verdict supersedes the one before."""
    earlier = job.inspection_verdicts.filter(successors=None).exclude(pk=id).order_by("made_at").last()
    verdict, is_new = append(
        InspectionVerdict, id=id, actor=actor, supersedes=earlier, job=job, fitness=fitness, remarks=remarks
    )
    if is_new:
        words = f"Verdict on the engine: {Fitness(fitness).label}" + (f". {remarks}" if remarks else "")
        journal.write(job, "engine-judged", words, actor=actor, fitness=fitness)
    return verdict
