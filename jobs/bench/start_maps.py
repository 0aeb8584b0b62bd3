"""What a first version may start from: a blank, typed points, band, sweep, like cars, another car, a template."""

from dataclasses import dataclass, replace

import numpy as np
from django.db.models import Q

from garage.quantities.words import plain
from garage.vehicles.facts import band_of, capsule_of
from garage.vehicles.models import Engine, Vehicle
from jobs.inspection import queries as inspection
from jobs.inspection.models import SweepDirection
from jobs.job.models import Job
from jobs.likeness.like import likeness_of
from jobs.likeness.stayed import handed_over, stayed_maps
from jobs.maps import origins
from jobs.maps.models import CurvePattern, MapVersion
from timing.curve import AdvanceCurve
from timing.distributor import WearFinding, WearKind
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.spread import middle_map
from timing.unit import FixedNodes, UnitType
from timing.vacuum import VacuumRamp

MOST_FOUND = 30

# What a sweep may say without anything being worn.
NO_WEAR = {WearKind.WITHIN_BAND, WearKind.BASE_OFFSET, WearKind.CANNOT_TELL}


@dataclass(frozen=True, slots=True)
class Start:
    """A map to start from and where it comes from, in words and by record."""

    map: IgnitionMap
    origin: str
    copied_from: MapVersion | None = None
    pattern: CurvePattern | None = None

    def with_base(self, base_deg: float) -> "Start":
        """The same start on another base timing: it belongs to the car, not to the curve."""
        return replace(self, map=replace(self.map, base_deg=base_deg))

    def with_ramp(self, ramp: VacuumRamp | None) -> "Start":
        """The same start with a vacuum advance that was typed in place of its own; as it is where none was."""
        if ramp is None:
            return self
        origin = f"{self.origin}; vacuum advance as typed"[:200]
        return replace(self, map=replace(self.map, vacuum=ramp), origin=origin)

    def with_rev_limit(self, red_line_rpm: float | None, unit: UnitType) -> "Start":
        """The same start with the car's red line as its rev limit, on a step of the unit not above it.

        A start that has one keeps it. Where the unit drops sparks in one manner alone, that is the manner.
        """
        steps = unit.rev_limit_rpm
        if self.map.rev_limit_rpm is not None or steps is None or red_line_rpm is None or red_line_rpm < steps.low:
            return self
        manners = unit.rev_limit_manners
        limited = replace(
            self.map,
            rev_limit_rpm=steps.at_or_below(red_line_rpm),
            rev_limit_manner=manners[0] if len(manners) == 1 else None,
        )
        return replace(self, map=limited, origin=f"{self.origin}; the car's red line"[:200])


def blank(unit: UnitType, base_deg: float) -> Start:
    """No advance at any point of the unit."""
    speeds = _speeds_of(unit)
    return Start(IgnitionMap(base_deg, AdvanceCurve(speeds, [0.0] * len(speeds))), origins.BLANK)


def typed(points: list[list[float]], base_deg: float) -> Start:
    """The curve through points that a person brings along, speed and degrees from base.

    Raises
    ------
    timing.errors.TimingError
        If they are no curve.
    """
    return Start(IgnitionMap(base_deg, AdvanceCurve(*zip(*points, strict=True))), origins.TYPED)


def _speeds_of(unit: UnitType) -> list[float]:
    """The nodes of the unit; free ones are spread over what a road engine uses, and the person moves them."""
    nodes = unit.nodes
    if isinstance(nodes, FixedNodes):
        return list(nodes.rpm)
    low, high = max(nodes.speeds.low, 500.0), min(nodes.speeds.high, 5500.0)
    return sorted({nodes.speeds.nearest(float(rpm)) for rpm in np.linspace(low, high, nodes.count)})


def from_like_cars(job: Job, unit: UnitType, base_deg: float) -> Start | None:
    """The median of what like cars went home with, on this base timing; None where fewer than three did."""
    like = likeness_of(job.vehicle.engine)
    maps = [one.map for one in stayed_maps(handed_over(like, but=job.vehicle_id)).maps]
    middle = middle_map(maps, base_deg=base_deg, rpm=_speeds_of(unit))
    if middle is None:
        return None
    return Start(middle, f"{origins.LIKE_CARS} of {len(maps)} like cars: {', '.join(like.words())}"[:200])


def from_band(vehicle: Vehicle, base_deg: float) -> Start | None:
    """The middle of the factory band in crank degrees, with the capsule as a ramp; None where the band is not known."""
    try:
        band = band_of(vehicle)
        capsule = capsule_of(vehicle)
    except TimingError:  # the factory's data as entered contradict themselves
        return None
    if band is None:
        return None
    origin = origins.BAND + (" and the factory's capsule" if capsule else "")
    return Start(IgnitionMap(base_deg, band.middle, capsule), origin)


def from_sweep(job: Job, base_deg: float) -> Start | None:
    """The advance as found on this car with rising revs, with the capsule as a ramp, and what is worn in its origin.

    None while it was read at too few speeds. It is counted from the lowest reading: what stands there is the old base
    timing.
    """
    rising: dict[float, list[float]] = {}
    for rpm, degrees, direction in inspection.sweep_points(job):
        if direction == SweepDirection.RISING:
            rising.setdefault(rpm, []).append(degrees)
    if len(rising) < inspection.least_sweep_speeds(job):
        return None
    speeds = sorted(rising)
    means = [sum(rising[rpm]) / len(rising[rpm]) for rpm in speeds]
    lowest = min(means)
    try:
        curve = AdvanceCurve(speeds, [round(mean - lowest, 2) for mean in means])
        capsule = capsule_of(job.vehicle)
    except TimingError:
        return None
    worn = ", ".join(finding.kind.replace("_", " ") for finding in _wear(job))
    origin = origins.AS_FOUND + (f", worn: {worn}" if worn else "")
    if capsule:
        origin += "; the factory's capsule"
    return Start(IgnitionMap(base_deg, curve, capsule), origin[:200])


def wear_as_found(job: Job) -> list[str]:
    """What the sweep says is worn, and so is in the advance as found; sentences."""
    try:
        if inspection.compared_sweep(job) is None:
            return ["No factory band to compare it with: wear would not show."]
    except TimingError:
        return ["The factory band cannot be right: wear would not show."]
    return [finding.sentence for finding in _wear(job)]


def _wear(job: Job) -> list[WearFinding]:
    try:
        found = inspection.compared_sweep(job)
    except TimingError:
        return []
    return [finding for finding in found.findings if finding.kind not in NO_WEAR] if found else []


def from_pattern(pattern: CurvePattern) -> Start:
    return Start(pattern.ignition_map(), f"the template curve '{pattern.name}'", pattern=pattern)


def from_version(version: MapVersion) -> Start:
    origin = f"version {version.number} of {version.job.code}, {version.job.vehicle}"
    return Start(version.ignition_map(), origin[:200], copied_from=version)


@dataclass(frozen=True, slots=True)
class OtherCar:
    """Another car's released map, and in what the two cars differ."""

    version: MapVersion
    differs: tuple[str, ...]


def other_cars(
    job: Job, family: str = "", compression: float | None = None, ron: float | None = None
) -> list[OtherCar]:
    """The newest released map of every other job whose engine answers to what is asked.

    Compression is met within half a unit, fuel within three octanes (common practice, no source): a start curve needs
    a like engine, not the same.
    """
    found = MapVersion.objects.released().exclude(job=job).select_related("job__vehicle__engine", "unit_revision")
    if family:
        found = found.filter(
            Q(job__vehicle__engine__family__icontains=family)
            | Q(job__vehicle__maker__icontains=family)
            | Q(job__vehicle__model__icontains=family)
        )
    if compression is not None:
        found = found.filter(job__vehicle__engine__compression_ratio__range=(compression - 0.5, compression + 0.5))
    if ron is not None:
        found = found.filter(job__vehicle__engine__fuel_ron__range=(ron - 3, ron + 3))
    newest: dict[int, MapVersion] = {}
    for version in found.order_by("job_id", "number"):
        if version.can_be_relied_on():
            newest[version.job_id] = version
    own = getattr(job.vehicle, "engine", None)
    rows = [
        OtherCar(version, _differences(own, getattr(version.job.vehicle, "engine", None)))
        for version in newest.values()
    ]
    return sorted(rows, key=lambda row: (len(row.differs), row.version.job.code))[:MOST_FOUND]


COMPARED = [
    ("family", "engine family", ""),
    ("cylinders", "cylinders", ""),
    ("strokes", "strokes", ""),
    ("bore_mm", "bore", "mm"),
    ("stroke_mm", "stroke", "mm"),
    ("compression_ratio", "compression", ""),
    ("fuel_ron", "fuel", "RON"),
    ("red_line_rpm", "red line", "rpm"),
    ("boosted", "boosted", ""),
]


def _differences(own: Engine | None, other: Engine | None) -> tuple[str, ...]:
    differences = []
    for name, label, unit in COMPARED:
        here, there = getattr(own, name, None), getattr(other, name, None)
        if here != there and not (here in (None, "") and there in (None, "")):
            differences.append(f"{label} {_said(there, unit)}, here {_said(here, unit)}")
    return tuple(differences)


def _said(value: object, unit: str) -> str:
    if value in (None, ""):
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = plain(value) if isinstance(value, float) else str(value)
    return f"{text} {unit}" if unit else text
