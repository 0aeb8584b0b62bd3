"""What the inspection has found, for its own page and for the other rooms."""

from dataclasses import dataclass

from django.urls import reverse

from garage.people.queries import get_workshop
from garage.quantities.words import plain, pressure
from garage.record.facts import current, with_people
from garage.vehicles.facts import band_of
from jobs.checklists import queries as checklists
from jobs.inspection.models import (
    CompressionReading,
    Fitness,
    InspectionVerdict,
    MarkCheck,
    SweepDirection,
    SweepReading,
)
from jobs.job.models import Job, JobKind
from jobs.job.progress import StageProgress
from timing.crank import dead_centre_from_stop
from timing.curve import AdvanceCurve
from timing.distributor import SweepComparison, compare_sweep
from timing.errors import TimingError
from timing.units import compression_at_sea_level

# What `progress` reads of a job: who asks for many jobs gathers it for all of them at once.
PREFETCH = ("sweep_readings", "mark_checks", "compression_readings__by", "inspection_verdicts")


def sweep_readings(job: Job) -> list[SweepReading]:
    """The readings that stand, rising first and by speed."""
    found = current(job.sweep_readings.all())
    return sorted(found, key=lambda reading: (reading.direction != SweepDirection.RISING, reading.rpm))


def last_direction(job: Job) -> SweepDirection:
    """The way the speed went at the last reading: the next is most likely of the same sweep."""
    last = max(sweep_readings(job), key=lambda reading: reading.made_at, default=None)
    return SweepDirection(last.direction) if last else SweepDirection.RISING


def sweep_points(job: Job) -> list[tuple[float, float, str]]:
    """(rpm, degrees of crank BTDC, 'rising' or 'falling') of the old advance as found."""
    return [(reading.rpm, reading.measured_deg, reading.direction) for reading in sweep_readings(job)]


def compared_sweep(job: Job) -> SweepComparison | None:
    """The sweep against the factory's band; None if either is missing."""
    points, band = sweep_points(job), band_of(job.vehicle)
    if not points or band is None:
        return None
    return compare_sweep(points, band, base_deg=job.vehicle.distributor.base_timing_deg or 0.0)


def old_centrifugal_curve(job: Job) -> AdvanceCurve | None:
    """What the old mechanism would add with speed, if it were still free: as found, else by the factory's data.

    From the rising readings, less the lowest of them: only the shape matters to the strobe.
    """
    rising = sorted({(rpm, degrees) for rpm, degrees, way in sweep_points(job) if way == "rising"})
    by_speed = {rpm: [d for r, d in rising if r == rpm] for rpm, _ in rising}
    if len(by_speed) >= least_sweep_speeds(job):
        means = [(rpm, sum(degrees) / len(degrees)) for rpm, degrees in sorted(by_speed.items())]
        lowest = min(degrees for _, degrees in means)
        return AdvanceCurve([rpm for rpm, _ in means], [degrees - lowest for _, degrees in means])
    band = band_of(job.vehicle)
    return band.middle if band else None


@dataclass(frozen=True, slots=True)
class MarkFound:
    """The timing mark against the piston stop. `error_deg` is positive if the mark shows TDC too late."""

    check: MarkCheck
    top_deg: float
    error_deg: float

    @property
    def tolerance_deg(self) -> float:
        """The limit that was in force when the mark was checked."""
        return self.check.tolerance_deg

    @property
    def holds(self) -> bool:
        return abs(self.error_deg) <= self.tolerance_deg


def mark_found(job: Job) -> MarkFound | None:
    """The last piston-stop check."""
    checks = list(job.mark_checks.all())
    if not checks:
        return None
    check = checks[-1]
    top = float(dead_centre_from_stop(check.first_deg, check.second_deg))
    error = (check.mark_deg - top + 180) % 360 - 180
    return MarkFound(check, top, error)


@dataclass(frozen=True, slots=True)
class Compression:
    """Cranking compression of the cylinders read so far, and what it says."""

    readings: list[CompressionReading]
    at_sea_level_kpa: list[float]
    spread: float | None
    allowed_spread: float
    unread: list[int]

    @property
    def rows(self) -> list[tuple[CompressionReading, str]]:
        """Each reading with what it would be at sea level, on the scale of its gauge and no finer than that is read."""
        return [
            (reading, pressure(kpa, reading.entered_unit, decimals=1 if reading.entered_unit == "bar" else 0))
            for reading, kpa in zip(self.readings, self.at_sea_level_kpa, strict=True)
        ]

    @property
    def spread_words(self) -> str:
        """The spread against the limit: '8% spread, limit 15%'."""
        spread = 0.0 if self.spread is None else self.spread
        return f"{spread:.0%} spread, limit {self.allowed_spread:.0%}"

    @property
    def even(self) -> bool | None:
        """Whether the cylinders agree; None while fewer than two are read."""
        return None if self.spread is None else self.spread <= self.allowed_spread


def compression(job: Job) -> Compression:
    """By the heights the cylinders were read at, and the spread that was allowed at the last reading."""
    readings = with_people(current(job.compression_readings.all()))
    corrected = [float(compression_at_sea_level(reading.gauge_kpa, reading.altitude_m)) for reading in readings]
    highest = max((reading.gauge_kpa for reading in readings), default=0.0)
    spread = None
    if len(readings) > 1 and highest > 0:
        spread = (highest - min(reading.gauge_kpa for reading in readings)) / highest
    read = {reading.cylinder for reading in readings}
    unread = [number for number in range(1, (job.vehicle.engine.cylinders or 1) + 1) if number not in read]
    last = max(readings, key=lambda reading: reading.made_at, default=None)
    allowed = last.allowed_spread_percent if last else get_workshop().compression_spread_percent
    return Compression(readings, corrected, spread, allowed_spread=allowed / 100, unread=unread)


def verdict(job: Job) -> InspectionVerdict | None:
    """The last word on whether the engine is fit."""
    said = current(job.inspection_verdicts.all())
    return said[-1] if said else None


def least_sweep_speeds(job: Job) -> int:
    """At how many speeds the old advance must be swept: as many as when the verdict was given, before it as now."""
    said = verdict(job)
    return said.least_sweep_speeds if said else get_workshop().least_sweep_speeds


def mark_error(job: Job) -> float | None:
    """By how much the timing mark is off, for the strobe; None while it is not proven."""
    try:
        found = mark_found(job)
    except TimingError:
        return None
    return found.error_deg if found else None


def progress(job: Job) -> StageProgress:
    """What is still missing before the fitting may begin. The sheet's own wants are asked of the fitting room."""
    sheet = checklists.sheet_progress(job, "inspection")
    if job.kind in (JobKind.CHECK, JobKind.SETTINGS):  # the engine was judged when it was converted
        return sheet
    missing = list(sheet.missing)
    speeds, least = len({rpm for rpm, _, _ in sweep_points(job)}), least_sweep_speeds(job)
    if speeds < least:
        missing.append(f"a strobe sweep of the old advance: {least} speeds ({speeds} so far)")
    mark = mark_found(job)
    if mark is None:
        missing.append("the timing mark proven with a piston stop")
    elif not mark.holds:
        missing.append(f"a new timing mark: the old one is {plain(mark.error_deg, 1)}° off")
    unread = compression(job).unread
    if unread:
        missing.append(f"the compression of cylinder {', '.join(map(str, unread))}")
    said = verdict(job)
    if said is None:
        missing.append("the verdict on the engine")
    elif said.fitness == Fitness.TALK_TO_OWNER:
        missing.append("the owner's decision: engine not ready")
    own_steps = 4
    own_done = own_steps - (len(missing) - len(sheet.missing))
    label, part = _next_step(mark, speeds < least, bool(unread), said)
    return StageProgress(
        missing=missing,
        done=sheet.done + own_done,
        total=sheet.total + own_steps,
        next_label=(sheet.next_label or label) if missing else "",
        next_url=(sheet.next_url or f"{reverse('inspection:page', args=[job.code])}#{part}") if missing else "",
    )


def _next_step(
    mark: MarkFound | None, sweep_is_short: bool, compression_is_short: bool, said: InspectionVerdict | None
) -> tuple[str, str]:
    """What comes next once the sheet is done, and on which part of the page: no sweep before the mark is proven."""
    if mark is None or not mark.holds:
        return "Prove timing mark" if mark is None else "Make a new timing mark", "mark"
    if sweep_is_short:
        return "Strobe the old advance", "sweep"
    if compression_is_short:
        return "Measure compression of every cylinder", "compression"
    return "Give verdict" if said is None else "Talk to the owner, then change the verdict", "verdict"


def facts_for_sheet(job: Job) -> dict[str, object]:
    """What the customer's sheet and the bench record say of the car as found: plain data."""
    mark, said, squeeze = mark_found(job), verdict(job), compression(job)
    comparison = compared_sweep(job)
    return {
        "sweep": [{"rpm": rpm, "degrees": degrees, "direction": way} for rpm, degrees, way in sweep_points(job)],
        "sweep_findings": [finding.sentence for finding in comparison.findings] if comparison else [],
        "mark_error_deg": mark.error_deg if mark else None,
        "compression": [
            {"cylinder": reading.cylinder, "kpa": reading.gauge_kpa, "unit": reading.entered_unit}
            for reading in squeeze.readings
        ],
        "compression_spread": squeeze.spread,
        "verdict": said.get_fitness_display() if said else None,
        "remarks": said.remarks if said else "",
        "decided_in_spite_of": said.decided if said else [],
        "decided_by": str(said.by) if said and said.decided else "",
        "customer_told": said.customer_told if said else "",
    }
