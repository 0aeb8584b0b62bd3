"""Recording what the strobe shows."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction

from garage.people.queries import get_workshop
from garage.quantities.words import advance, plain
from garage.record.actor import Actor
from garage.record.append import append, withdraw
from garage.record.events import Event
from garage.record.idempotency import refuse_unless_same
from jobs.job import journal
from jobs.job.models import Job
from jobs.strobe.doubt import Settled
from jobs.strobe.expected import expected_deg
from jobs.strobe.models import ClampCheck, Purpose, StrobeReading, StrobeSession


@transaction.atomic
def begin_base_session(
    *, job: Job, base_deg: float, idempotency_key: UUID, actor: Actor, lamp: str = ""
) -> StrobeSession:
    """Sit down to prove the base timing: the unit told `base_deg`, its curve flat, the vacuum pipe off."""
    session, is_new = StrobeSession.objects.get_or_create(
        idempotency_key=idempotency_key,
        defaults={
            "job": job,
            "purpose": Purpose.BASE,
            "base_deg": base_deg,
            "lamp": lamp,
            "tolerance_deg": get_workshop().strobe_tolerance_deg,
            "begun_at": actor.at,
            "begun_by": actor.person,
        },
    )
    if not is_new:
        refuse_unless_same(session, {"job": job, "base_deg": base_deg, "lamp": lamp})
    else:
        sentence = f"Strobe session started, base timing set in the unit: {advance(base_deg)}{_with(session)}"
        journal.write(job, Event.SESSION_BEGUN, sentence, actor=actor, base_deg=base_deg)
    return session


@transaction.atomic
def begin_map_session(
    *,
    job: Job,
    purpose: Purpose,
    version_id: int,
    version_words: str,
    idempotency_key: UUID,
    actor: Actor,
    lamp: str = "",
) -> StrobeSession:
    """Sit down to compare the running engine with a map version."""
    session, is_new = StrobeSession.objects.get_or_create(
        # One page offers several purposes: each has a key of its own.
        idempotency_key=uuid5(idempotency_key, purpose),
        defaults={
            "job": job,
            "purpose": purpose,
            "map_version_id": version_id,
            "lamp": lamp,
            "tolerance_deg": get_workshop().strobe_tolerance_deg,
            "begun_at": actor.at,
            "begun_by": actor.person,
        },
    )
    if not is_new:
        refuse_unless_same(session, {"job": job, "lamp": lamp})
    else:
        sentence = f"Strobe session started, {purpose.label}, against {version_words}{_with(session)}"
        journal.write(job, Event.SESSION_BEGUN, sentence, actor=actor, version=version_id)
    return session


def _with(session: StrobeSession) -> str:
    return f"; {session.get_lamp_display()}" if session.lamp else ""


@transaction.atomic
def record_reading(
    *,
    session: StrobeSession,
    id: UUID,
    rpm: float,
    measured_deg: float,
    actor: Actor,
    vacuum_kpa: float | None = None,
    vacuum_unit: str = "",
    settled: Settled | None = None,
    made_at: datetime | None = None,
) -> StrobeReading:
    """Record one reading, with what the unit was to give there as it stood at that moment.

    `settled` is a doubt about what was typed, and how it was settled: the trail says both. `made_at` is when it was
    read, where it waited on a tablet.
    """
    expected = expected_deg(session, rpm, vacuum_kpa)
    reading, is_new = append(
        StrobeReading,
        id=id,
        actor=actor,
        made_at=made_at,
        session=session,
        rpm=rpm,
        measured_deg=measured_deg,
        expected_deg=expected,
        vacuum_kpa=vacuum_kpa,
        vacuum_unit=vacuum_unit if vacuum_kpa is not None else "",
    )
    if is_new:
        sentence = f"Strobe: {advance(measured_deg)} at {plain(rpm)} rpm, set {advance(expected, 1)}"
        asked: dict[str, Any] = {}
        if settled is not None:
            sentence += f". {settled.sentence}"
            asked = {"typed_deg": settled.doubt.typed_deg, "asked": settled.doubt.question}
        journal.write(
            session.job,
            Event.STROBE_READ,
            sentence,
            actor=actor,
            rpm=rpm,
            measured_deg=measured_deg,
            expected_deg=expected,
            **asked,
        )
    return reading


@transaction.atomic
def withdraw_reading(*, reading: StrobeReading, actor: Actor) -> None:
    """Take a reading back. It stays in the book, and counts no more."""
    if withdraw(reading, actor=actor):
        sentence = f"Undone: strobe {advance(reading.measured_deg)} at {plain(reading.rpm)} rpm"
        journal.write(reading.session.job, Event.READING_WITHDRAWN, sentence, actor=actor, reading=str(reading.pk))


@transaction.atomic
def record_clamp(
    *, job: Job, id: UUID, change_deg: float, torque_nm: float | None, mark_painted: bool, actor: Actor
) -> ClampCheck:
    """The distributor is clamped and marked; from here on it is never moved again."""
    check, is_new = append(
        ClampCheck,
        id=id,
        actor=actor,
        job=job,
        change_deg=change_deg,
        torque_nm=torque_nm,
        mark_painted=mark_painted,
        in_force={"tolerance_deg": get_workshop().clamp_tolerance_deg},
    )
    if is_new:
        torque = f" at {plain(torque_nm)} Nm" if torque_nm is not None else ""
        sentence = f"Distributor clamped{torque}, shift {plain(change_deg)}°"
        journal.write(job, Event.CLAMPED, sentence, actor=actor, change_deg=change_deg, mark_painted=mark_painted)
    return check
