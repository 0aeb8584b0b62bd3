"""What the strobe has shown, and what it proves."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import prefetch_related_objects
from django.urls import reverse

from garage.record.facts import current, with_people
from jobs.inspection import queries as inspection
from jobs.job.models import Job
from jobs.job.progress import StageProgress
from jobs.maps import queries as maps
from jobs.maps.carried_over import carried_over
from jobs.strobe.models import ClampCheck, Purpose, StrobeReading, StrobeSession
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.strobe import BaseProof, StrobeFit, Verdict, VerdictKind, fit_readings, judge, prove_base

# The purpose by which another room finds the checks after handover.
AFTER_CARE = Purpose.AFTER_CARE


@dataclass(frozen=True, slots=True)
class Judged:
    """A session with the readings that stand in it, and the verdict on them."""

    session: StrobeSession
    readings: list[StrobeReading]
    proof: BaseProof | None = None
    fit: StrobeFit | None = None
    trouble: str = ""
    unit_takes_delay: bool = False

    @property
    def tolerance_deg(self) -> float:
        """The limit that was in force when the session began."""
        return self.session.tolerance_deg

    @property
    def verdict(self) -> Verdict | None:
        if self.proof is not None:
            return self.proof.verdict
        if self.fit is None:
            return None
        return judge(self.fit, unit_takes_delay=self.unit_takes_delay, lamp=self.session.lamp_kind)

    @property
    def holds(self) -> bool:
        return self.verdict is not None and self.verdict.holds

    @property
    def source(self) -> str:
        """Where its figures come from: '8 strobe readings'."""
        count = len(self.readings)
        return f"{count} strobe reading{'' if count == 1 else 's'}"

    @property
    def rows(self) -> list[tuple[StrobeReading, float]]:
        """Each reading with how late it is. [degrees of crank]"""
        return [(reading, reading.expected_deg - reading.measured_deg) for reading in self.readings]


# What `progress` reads of a job: who asks for many jobs gathers it for all of them at once.
PREFETCH = (
    "strobe_sessions__readings__by",
    "strobe_sessions__map_version__unit_revision",
    "unit__revision",
    "clamp_checks",
    *inspection.PREFETCH,
)


def standing_readings(session: StrobeSession) -> list[StrobeReading]:
    """The readings that stand, by speed."""
    return sorted(with_people(current(session.readings.all())), key=lambda reading: reading.rpm)


def judged(session: StrobeSession) -> Judged:
    """The verdict of `timing.strobe` on a session; with too strange figures, the sentence that says so."""
    readings = standing_readings(session)
    job = session.job
    tolerance = session.tolerance_deg
    if not readings:
        return Judged(session, readings)
    rpm = [reading.rpm for reading in readings]
    measured = [reading.measured_deg for reading in readings]
    mark_error = inspection.mark_error(job)
    strokes = job.vehicle.engine.strokes
    takes_delay = _takes_delay(session)
    try:
        if session.base_deg is not None:
            proof = prove_base(
                rpm=rpm,
                measured=measured,
                base_deg=session.base_deg,
                tolerance=tolerance,
                mark_error_deg=mark_error,
                strokes=strokes,
                unit_takes_delay=takes_delay,
                lamp=session.lamp_kind,
            )
            return Judged(session, readings, proof=proof)
        expected = [reading.expected_deg for reading in readings]
        old = inspection.old_centrifugal_curve(job)
        fit = fit_readings(
            rpm=rpm,
            measured=measured,
            expected=expected,
            old_curve=old,
            tolerance=tolerance,
            mark_error_deg=mark_error,
            strokes=strokes,
        )
    except TimingError as trouble:
        return Judged(session, readings, trouble=str(trouble))
    return Judged(session, readings, fit=fit, unit_takes_delay=takes_delay)


def _takes_delay(session: StrobeSession) -> bool:
    """Whether the unit the session was read with has an entry for a delay."""
    if session.map_version is not None:
        return session.map_version.unit_revision.holds().takes_delay
    return session.job.unit is not None and session.job.unit.revision.holds().takes_delay


def sessions(job: Job) -> list[StrobeSession]:
    """Every session of a job, the latest first, with all that judging them reads."""
    found = list(
        job.strobe_sessions.select_related("begun_by", "map_version__unit_revision")
        .prefetch_related("readings__by")
        .order_by("-begun_at", "-pk")
    )
    for session in found:
        session.job = job  # with what was gathered for it once
    return found


def last_lamp() -> str:
    """The strobe of the latest session of the workshop, which is most likely the one at hand."""
    last = StrobeSession.objects.exclude(lamp="").order_by("-begun_at", "-pk").first()
    return last.lamp if last else ""


def last_session(job: Job, *purposes: Purpose) -> StrobeSession | None:
    """The latest session for one of the purposes that has a reading standing."""
    sessions = [session for session in job.strobe_sessions.all() if session.purpose in purposes]
    prefetch_related_objects(sessions, "readings")
    return next((session for session in reversed(sessions) if current(session.readings.all())), None)


def base_proof(job: Job) -> Judged | None:
    """The last session for the base timing, judged."""
    session = last_session(job, Purpose.BASE)
    return judged(session) if session else None


def map_check(job: Job) -> Judged | None:
    """The last session against a map version, judged."""
    session = last_session(job, Purpose.SWEEP, Purpose.FINAL, Purpose.AFTER_CARE)
    return judged(session) if session else None


def final_check(job: Job) -> Judged | None:
    """The last final check, judged; None if the unit or the map in it came into the car only after it."""
    session = last_session(job, Purpose.FINAL)
    now = maps.in_car(job)
    if session is None or now.version is None or now.since is None:
        return None
    if session.map_version_id != now.version.pk or session.begun_at < now.since:
        return None
    return judged(session)


def last_after_care(job: Job) -> datetime | None:
    """When the car was last looked at with the strobe after it was handed over."""
    session = last_session(job, Purpose.AFTER_CARE)
    return session.begun_at if session else None


def latest_readings(job: Job) -> list[tuple[float, float | None, float]]:
    """(rpm, vacuum in kPa, degrees BTDC) of the last session against a map, for the bench to lay under its curve."""
    session = last_session(job, Purpose.SWEEP, Purpose.FINAL, Purpose.AFTER_CARE)
    if session is None:
        return []
    return [(reading.rpm, reading.vacuum_kpa, reading.measured_deg) for reading in standing_readings(session)]


def clamp(job: Job) -> ClampCheck | None:
    checks = list(job.clamp_checks.all())
    return checks[-1] if checks else None


def clamp_holds(check: ClampCheck | None) -> bool:
    return check is not None and abs(check.change_deg) <= check.tolerance_deg and check.mark_painted


def clamp_is_due(job: Job, proof: Judged) -> bool:
    """Whether the distributor has to be clamped, or its clamp looked at again, after the readings of `proof`."""
    check = clamp(job)
    return check is None or not clamp_holds(check) or _is_older(check, proof)


def _is_older(check: ClampCheck, proof: Judged) -> bool:
    return bool(proof.readings) and check.made_at < min(reading.made_at for reading in proof.readings)


def suggested_base_deg(job: Job) -> float | None:
    """What the unit is most likely told: the newest map's base timing, else the factory's."""
    newest = maps.released_versions(job).last()
    carried = None if newest else carried_over(job)
    version = newest or (carried.version if carried else None)
    return version.base_deg if version else job.vehicle.distributor.base_timing_deg


def old_curve(job: Job) -> AdvanceCurve | None:
    return inspection.old_centrifugal_curve(job)


def progress(job: Job) -> StageProgress:
    missing = []
    proof = base_proof(job)
    if proof is None:
        missing.append("base timing by strobe, curve flat, at two speeds")
    elif not proof.holds:
        words = proof.verdict.sentence if proof.verdict else proof.trouble
        # What to do about it stands with the readings; here it is one thing of a list.
        why = words.partition(". ")[0].removeprefix("Not proven: ").rstrip(".")
        missing.append(f"proof of the base timing: {why[:1].lower()}{why[1:]}")
    check = clamp(job)
    if check is None:
        missing.append("the distributor clamped, marked and read again")
    elif not clamp_holds(check):
        missing.append("a clamp that holds and a painted mark")
    elif proof is not None and _is_older(check, proof):
        missing.append("the clamp checked again after these readings")
    proven = proof is not None and proof.holds
    label, part = ("Clamp distributor", "clamp") if proven else ("Read strobe", "base")
    return StageProgress(
        missing=missing,
        done=2 - min(2, len(missing)),
        total=2,
        next_label=label if missing else "",
        next_url=f"{reverse('strobe:page', args=[job.code])}#{part}" if missing else "",
    )


def facts_for_sheet(job: Job) -> dict[str, object]:
    """The proof of the timing as plain data for the documents: who read what, when, and the verdict."""
    return {
        "base": _facts(base_proof(job)),
        "map": _facts(map_check(job)),
        "final": _facts(final_check(job)),
        "clamp": _clamp_facts(clamp(job)),
    }


def _facts(found: Judged | None) -> dict[str, object] | None:
    if found is None:
        return None
    return {
        "purpose": found.session.get_purpose_display(),
        "lamp": found.session.get_lamp_display(),
        "base_deg": found.session.base_deg,
        "map_number": found.session.map_version.number if found.session.map_version else None,
        "tolerance_deg": found.tolerance_deg,
        "holds": found.holds,
        # of too few readings nothing is proven: a customer's paper does not show them as proof
        "enough": found.verdict is not None and found.verdict.kind != VerdictKind.MORE_READINGS,
        "verdict": found.verdict.sentence if found.verdict else found.trouble,
        "readings": [
            {
                "rpm": reading.rpm,
                "vacuum_kpa": reading.vacuum_kpa,
                "vacuum_unit": reading.vacuum_unit,
                "measured_deg": reading.measured_deg,
                "expected_deg": reading.expected_deg,
                "late_deg": late,
                "by": str(reading.by),
                "at": reading.made_at.isoformat(),
            }
            for reading, late in found.rows
        ],
    }


def _clamp_facts(check: ClampCheck | None) -> dict[str, object] | None:
    if check is None:
        return None
    return {
        "change_deg": check.change_deg,
        "torque_nm": check.torque_nm,
        "mark_painted": check.mark_painted,
        "by": str(check.by),
        "at": check.made_at.isoformat(),
    }
