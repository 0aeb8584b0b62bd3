"""Recording what the strobe shows."""

from uuid import UUID

from django.db import transaction

from garage.people.signature import Signature
from garage.quantities.words import advance, plain
from garage.site.once import refuse_unless_same
from jobs.card import journal
from jobs.card.models import Job
from jobs.card.recording import append, id_of_taking_back
from jobs.maps import queries as maps
from jobs.strobe.models import ClampCheck, Purpose, StrobeReading, StrobeSitting


@transaction.atomic
def begin_base_sitting(*, job: Job, base_deg: float, once: UUID, signed: Signature) -> StrobeSitting:
    """Sit down to prove the base timing: the unit told `base_deg`, its curve flat, the vacuum pipe off."""
    sitting, is_new = StrobeSitting.objects.get_or_create(
        once=once,
        defaults={
            "job": job,
            "purpose": Purpose.BASE,
            "base_deg": base_deg,
            "begun_at": signed.at,
            "begun_by": signed.by,
        },
    )
    if not is_new:
        refuse_unless_same(sitting, {"job": job, "base_deg": base_deg})
    else:
        sentence = f"Strobe sitting for base timing begun, unit told {advance(base_deg)}"
        journal.write(job, "sitting-begun", sentence, signed=signed, base_deg=base_deg)
    return sitting


@transaction.atomic
def begin_map_sitting(
    *, job: Job, purpose: Purpose, version_id: int, version_words: str, once: UUID, signed: Signature
) -> StrobeSitting:
    """Sit down to compare the running engine with a map version."""
    sitting, is_new = StrobeSitting.objects.get_or_create(
        once=once,
        defaults={
            "job": job,
            "purpose": purpose,
            "map_version_id": version_id,
            "begun_at": signed.at,
            "begun_by": signed.by,
        },
    )
    if is_new:
        sentence = f"Strobe sitting begun, {purpose.label}, against {version_words}"
        journal.write(job, "sitting-begun", sentence, signed=signed, version=version_id)
    return sitting


@transaction.atomic
def record_reading(
    *,
    sitting: StrobeSitting,
    id: UUID,
    rpm: float,
    measured_deg: float,
    signed: Signature,
    vacuum_kpa: float | None = None,
    vacuum_unit: str = "",
) -> StrobeReading:
    """Record one reading, with what the unit was to give there as it stood at that moment."""
    if sitting.map_version_id is None:
        expected = float(sitting.base_deg or 0.0)
    else:
        expected = maps.expected_advance(sitting.map_version_id, rpm, vacuum_kpa or 0.0)
    reading, is_new = append(
        StrobeReading,
        id=id,
        signed=signed,
        sitting=sitting,
        rpm=rpm,
        measured_deg=measured_deg,
        expected_deg=expected,
        vacuum_kpa=vacuum_kpa,
        vacuum_unit=vacuum_unit if vacuum_kpa is not None else "",
    )
    if is_new:
        sentence = f"Strobe: {advance(measured_deg)} at {plain(rpm)} rpm, wanted {advance(expected, 1)}"
        journal.write(
            sitting.job,
            "strobe-read",
            sentence,
            signed=signed,
            rpm=rpm,
            measured_deg=measured_deg,
            expected_deg=expected,
        )
    return reading


@transaction.atomic
def withdraw_reading(*, reading: StrobeReading, signed: Signature) -> None:
    """Take a reading back. It stays in the book, and counts no more."""
    _, is_new = append(
        StrobeReading,
        id=id_of_taking_back(reading),
        signed=signed,
        supersedes=reading,
        sitting=reading.sitting,
        rpm=reading.rpm,
        measured_deg=reading.measured_deg,
        expected_deg=reading.expected_deg,
        vacuum_kpa=reading.vacuum_kpa,
        vacuum_unit=reading.vacuum_unit,
        withdrawn=True,
    )
    if is_new:
        sentence = f"Taken back: strobe {advance(reading.measured_deg)} at {plain(reading.rpm)} rpm"
        journal.write(reading.sitting.job, "reading-withdrawn", sentence, signed=signed, reading=str(reading.pk))


@transaction.atomic
def record_clamp(
    *, job: Job, id: UUID, change_deg: float, torque_nm: float | None, mark_painted: bool, signed: Signature
) -> ClampCheck:
    """The distributor is clamped and marked; from here on it is never moved again."""
    check, is_new = append(
        ClampCheck,
        id=id,
        signed=signed,
        job=job,
        change_deg=change_deg,
        torque_nm=torque_nm,
        mark_painted=mark_painted,
    )
    if is_new:
        torque = f" at {plain(torque_nm)} Nm" if torque_nm is not None else ""
        sentence = f"Distributor clamped{torque}, reading changed by {plain(change_deg)}°"
        journal.write(job, "clamped", sentence, signed=signed, change_deg=change_deg, mark_painted=mark_painted)
    return check
