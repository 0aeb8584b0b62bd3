"""Which versions there are, which of them is in the car, and what it gives where."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import prefetch_related_objects
from django.urls import reverse

from garage.units.entry_words import meaning
from jobs.job.models import Job
from jobs.job.progress import StageProgress
from jobs.maps.carried_over import carried_over
from jobs.maps.models import MapVersion, MapVersionQuerySet, ReadBack
from jobs.maps.stored_map import to_json
from jobs.maps.unit_fit import fit_of_version, lines_of, reckoning_of
from timing.comparison import compare
from timing.review import advance_range


@dataclass(frozen=True, slots=True)
class InCar:
    """The version a clean read-back has proven in the unit that is now in the car, and what has cast doubt on it since.

    `doubt` is the newest of the later read-backs of the same unit that did not agree. `since` is when the version came
    into this unit: from its first clean read-back on, nothing else was seen in it. What was looked at before was
    another state.
    """

    version: MapVersion | None = None
    proof: ReadBack | None = None
    doubt: ReadBack | None = None
    since: datetime | None = None

    @property
    def source(self) -> str:
        """Who says so: 'read back by R. Vale'."""
        return f"read back by {self.proof.by}" if self.proof else ""


# What `progress` reads of a job: who asks for many jobs gathers it for all of them at once.
PREFETCH = ("map_versions__unit_revision", "unit__read_backs__map_version")


def in_car(job: Job) -> InCar:
    """Which version is in the car: only a clean read-back of the unit now fitted says so.

    Whatever was read in that unit counts, for this job or another: a unit that was in another car in between holds that
    car's map. A unit that was taken out, or is in another car, is not in this one.
    """
    unit = job.unit
    if unit is None or unit.removed_at is not None or unit.vehicle_id not in (None, job.vehicle_id):
        return InCar()
    read_backs = list(unit.read_backs.all())
    prefetch_related_objects(read_backs, "map_version")
    newest_first = sorted(read_backs, key=lambda read: (read.made_at, read.received_at), reverse=True)
    proof = next((read for read in newest_first if read.clean), None)
    if proof is None or proof.map_version.job_id != job.pk:
        return InCar()
    at = newest_first.index(proof)
    doubt = next((read for read in newest_first[:at] if read.mismatches), None)
    since = proof.made_at
    for read in newest_first[at:]:
        if read.mismatches or read.map_version_id != proof.map_version_id:
            break
        since = read.made_at if read.clean else since
    return InCar(proof.map_version, proof, doubt, since)


def version_in_car(job: Job) -> MapVersion | None:
    """The released version that is in the car, or None while nothing is proven."""
    return in_car(job).version


def released_versions(job: Job) -> MapVersionQuerySet:
    return job.map_versions.released().order_by("number")


def newest_released(job: Job) -> MapVersion | None:
    released = [version for version in job.map_versions.all() if version.released_at is not None]
    return released[-1] if released else None


def expected_advance(version_id: int, rpm: float, vacuum_kpa: float = 0.0) -> float:
    """Total advance of a version as it is keyed in. [degrees of crank before top dead centre]

    Raises
    ------
    TimingError
        If the unit cannot hold a draft, or a figure is out of its range.
    """
    version = MapVersion.objects.select_related("unit_revision").get(pk=version_id)
    if version.released_at is not None:
        return float(version.delivered_map().total(rpm=rpm, vacuum=vacuum_kpa))
    fitted = fit_of_version(version).fitted
    delivered = version.ignition_map() if fitted is None else fitted.map
    return float(delivered.total(rpm=rpm, vacuum=vacuum_kpa))


@dataclass(frozen=True, slots=True)
class AdvanceOfMap:
    """Lowest and highest total advance of a version, as its review reckons with them. [degrees of crank BTDC]"""

    version: MapVersion
    lowest_deg: float
    highest_deg: float


def latest_advance(job: Job) -> AdvanceOfMap | None:
    """The ends of the latest map of this job, released or still a draft; None while there is none."""
    kept = [version for version in job.map_versions.all() if version.set_aside_at is None]
    return AdvanceOfMap(kept[-1], *advance_range(kept[-1].ignition_map())) if kept else None


def progress(job: Job) -> StageProgress:
    """A car leaves the stage with its newest released version proven in the unit."""
    newest = newest_released(job)
    carried = None if newest is not None else carried_over(job)
    drafts = [version for version in job.map_versions.all() if version.is_draft]
    draft = drafts[-1] if drafts else None
    now = in_car(job)
    steps = [
        (job.unit_id is not None, "the unit fitted in this car"),
        (newest is not None, "a released map version"),
        (
            newest is not None and now.version is not None and now.version.pk == newest.pk and now.doubt is None,
            f"a clean read-back of version {newest.number}, after switching off and on"
            if newest
            else "a clean read-back, after switching off and on",
        ),
    ]
    missing = [label for holds, label in steps if not holds]
    if newest is not None and not newest.is_sound():
        missing.append(f"version {newest.number} unchanged (its checksum does not match)")
    label, url = _next_step(job, newest, draft, bool(missing), carried is not None)
    return StageProgress(
        missing=missing, done=sum(holds for holds, _ in steps), total=len(steps), next_label=label, next_url=url
    )


def _next_step(
    job: Job, newest: MapVersion | None, draft: MapVersion | None, something_missing: bool, is_carried_over: bool
) -> tuple[str, str]:
    if not something_missing:
        return "", ""
    if job.unit_id is None:
        return "Choose unit", reverse("board:unit", args=[job.code])
    if newest is not None and (draft is None or draft.number < newest.number):
        return f"Key in version {newest.number}", reverse("maps:key-in", args=[job.code, newest.number])
    if draft is not None:
        return f"Edit version {draft.number}", reverse("bench:version", args=[job.code, draft.number])
    if is_carried_over:
        return "Take over the map from the last job", f"{reverse('maps:page', args=[job.code])}#carried-over"
    return "Start map", reverse("bench:start", args=[job.code])


def facts_for_sheet(job: Job) -> dict[str, Any] | None:
    """Everything about the map that goes on the customer's sheet, as plain values; None while nothing is proven.

    Pressures are in kPa, `vacuum_unit` says how they were entered.
    """
    now = in_car(job)
    if now.version is None or now.proof is None or job.unit is None:
        return None
    version = MapVersion.objects.with_people().get(pk=now.version.pk)
    fitted = fit_of_version(version).fitted
    assert fitted is not None  # noqa: S101 - a released version has been fitted
    unit = version.unit_revision.holds()
    return {
        "number": version.number,
        "reason": version.reason,
        "origin": version.origin,
        "author": str(version.author),
        "released_at": version.released_at,
        "released_by": str(version.released_by),
        "seal": version.content_hash,
        "is_sound": version.is_sound(),
        "target": to_json(version.ignition_map()),
        "delivered": to_json(fitted.map),
        "vacuum_unit": version.vacuum_unit,
        "boost_unit": version.boost_unit,
        "counted_from": unit.counted_from,
        "reckoning": reckoning_of(unit),
        "worst_error_deg": fitted.worst_error,
        "worst_at_rpm": fitted.at_rpm,
        "unit_type": str(version.unit_revision.unit_type),
        "unit_revision": version.unit_revision.number,
        "serial_number": job.unit.serial_number,
        "firmware": job.unit.firmware,
        "lines": [
            {
                "position": line.position,
                "words": line.words,
                "meaning": meaning(line.key, line.place),
                "value": line.value_text,
                "unit": line.unit,
            }
            for line in lines_of(version)
        ],
        "read_back_at": now.proof.made_at,
        "read_back_by": str(now.proof.by),
        "doubt": list(now.doubt.mismatches) if now.doubt else [],
        "versions": history(job),
    }


def history(job: Job) -> list[dict[str, Any]]:
    """Every released version of the job in order: who, when, why, and what changed."""
    rows = []
    for version in released_versions(job).with_people():
        rows.append(
            {
                "number": version.number,
                "parent": version.parent.number if version.parent else None,
                "reason": version.reason,
                "origin": version.origin,
                "author": str(version.author),
                "made_at": version.made_at,
                "released_at": version.released_at,
                "released_by": str(version.released_by),
                "changed": compare(version.parent.ignition_map(), version.ignition_map()).sentence
                if version.parent
                else "",
            }
        )
    return rows
