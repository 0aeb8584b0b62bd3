"""The units in like cars by type and firmware: how many were replaced, and how many did not read back as keyed in."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.text import slugify

from garage.units.models import FittedUnit
from jobs.job.models import Job, JobKind, JobState
from jobs.learning.behind import Behind, Car
from jobs.learning.group import Group
from jobs.learning.words import share_said
from jobs.maps.models import ReadBack
from timing.spread import Share, share_of


@dataclass(frozen=True, slots=True)
class UnitsOf:
    """The units of one type and firmware."""

    label: str
    units: Behind
    replaced: Behind
    not_as_keyed: Behind
    share: Share | None

    @property
    def share_said(self) -> str:
        return share_said(self.share)


@dataclass(frozen=True, slots=True)
class UnitFailures:
    rows: Sequence[UnitsOf]

    def figures(self) -> Iterator[Behind]:
        for row in self.rows:
            yield from (row.units, row.replaced, row.not_as_keyed)


def unit_failures(group: Group) -> UnitFailures:
    """A unit was replaced where it came out of its car on a job of the kind 'unit replaced'.

    One that went back on the shelf was sound, and counts with the car it is in now.
    """
    last = {one.vehicle_id: one for one in group.cars}
    units = (
        FittedUnit.objects.filter(vehicle_id__in=last)
        .select_related("revision__unit_type")
        .order_by("revision__unit_type__name", "firmware", "serial_number")
    )
    replacing: dict[int, list[Job]] = defaultdict(list)
    jobs = Job.objects.filter(vehicle_id__in=last, kind=JobKind.UNIT_REPLACED).exclude(state=JobState.ABANDONED)
    for job in jobs.only("code", "vehicle_id", "unit_id", "complaint", "wanted", "made_at").order_by("made_at", "pk"):
        replacing[job.vehicle_id].append(job)
    found = list(units)
    doubted = _not_as_keyed(found)
    groups: dict[str, list[FittedUnit]] = defaultdict(list)
    for unit in found:
        groups[f"{unit.revision.unit_type}, firmware {unit.firmware or 'not known'}"].append(unit)
    rows = []
    for label, members in groups.items():
        key = slugify(label)
        cars = {unit.pk: (last[unit.vehicle_id], unit) for unit in members if unit.vehicle_id is not None}
        replaced = [
            Car(on.code, car.car, f"no. {unit.serial_number}: {on.complaint or on.wanted}")
            for car, unit in cars.values()
            if (on := _replaced_on(unit, replacing)) is not None
        ]
        rows.append(
            UnitsOf(
                label,
                Behind(
                    f"units-{key}",
                    label,
                    tuple(Car(car.code, car.car, f"no. {unit.serial_number}") for car, unit in cars.values()),
                ),
                Behind(f"replaced-{key}", f"Replaced: {label}", tuple(replaced)),
                Behind(
                    f"doubted-{key}",
                    f"Did not read back as keyed in: {label}",
                    tuple(
                        Car(car.code, car.car, f"no. {unit.serial_number}: {doubted[unit.pk]}")
                        for car, unit in cars.values()
                        if unit.pk in doubted
                    ),
                ),
                share_of(len(replaced), len(cars)),
            )
        )
    return UnitFailures(sorted(rows, key=lambda row: (-row.units.count, row.label)))


def _replaced_on(unit: FittedUnit, replacing: dict[int, list[Job]]) -> Job | None:
    """The job on which `unit` came out of its car to be replaced; None where it stayed in or came out otherwise."""
    if unit.removed_at is None or unit.vehicle_id is None:
        return None
    # The job that put this very unit in did not replace it.
    others = [job for job in replacing[unit.vehicle_id] if job.unit_id != unit.pk]
    before = [job for job in others if job.made_at <= unit.removed_at]
    return before[-1] if before else None


def _not_as_keyed(units: Sequence[FittedUnit]) -> dict[int, str]:
    """What the last read-back that did not agree said of each unit."""
    read_backs = ReadBack.objects.filter(unit__in=units, clean=False).exclude(mismatches=[])
    return {
        unit_id: "; ".join(mismatches)
        for unit_id, mismatches in read_backs.order_by("made_at").values_list("unit_id", "mismatches")
    }
