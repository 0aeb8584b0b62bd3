"""A workshop of several hundred cars whose truth is known, written in bulk past the actions, as a book of years is.

Its makes, families and unit types are invented. What it was made of is kept beside it as plain numpy arrays: the
figures on the page are held against these, and not against what the program reads back.
"""

import uuid
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np

from garage.models import (
    Coil,
    Customer,
    Distributor,
    Engine,
    FittedUnit,
    Staff,
    TrailEntry,
    UnitType,
    UnitTypeRevision,
    Vehicle,
)
from garage.record.events import Event
from garage.units.capability import capability_of
from garage.units.examples import QUILL
from jobs.maps.content_hash import NEWEST_FORM, content_hash_of
from jobs.maps.stored_map import to_columns, to_json
from jobs.models import CostLine, CurvePattern, GateCrossing, Job, MapVersion, ReadBack, RoadNote, RoadRun
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.vacuum import VacuumRamp

BEGAN = datetime(2020, 1, 6, 9, 0, tzinfo=UTC)
NOW = datetime(2026, 6, 1, 9, 0, tzinfo=UTC)
NODES = (800.0, 1500.0, 2500.0, 3500.0, 4500.0)
# family, make, cylinders, bore, stroke, compression, fuel, cars in a hundred
FAMILIES = (
    ("Alder B", "Alder", 4, 76.0, 82.0, 8.8, 95.0, 60),
    ("Torrent six", "Torrent", 6, 76.0, 88.0, 9.5, 98.0, 30),
    ("Wren twin", "Wren", 2, 70.0, 70.0, 7.2, 91.0, 10),
)
STARTS = ("pattern", "the middle of the factory band", "a blank curve")
LESS_AT = 2500.0  # where every later version takes advance away


@dataclass
class MadeCar:
    """What one car was made of."""

    family: str
    code: str
    map: IgnitionMap
    versions: int
    start: str
    less: float  # degrees taken away at LESS_AT by each version after the first
    hours: dict[str, float]
    firmware: str
    replaced: bool
    came_back_after: int | None  # days
    handed_over: datetime


@dataclass
class MadeWorkshop:
    cars: list[MadeCar] = field(default_factory=list)

    def of(self, family: str) -> list[MadeCar]:
        return [car for car in self.cars if car.family == family]


def made_workshop(count: int = 400, seed: int = 13) -> MadeWorkshop:
    """`count` cars with all that was written about them."""
    draw = np.random.default_rng(seed)
    person = Staff.objects.create(username="made-by", name="R. Made")
    customer = Customer.objects.create(name="Customer of many", made_at=BEGAN)
    revision = UnitTypeRevision.objects.create(
        unit_type=UnitType.objects.create(name="Bittern 12"),
        number=1,
        capability=capability_of(QUILL),
        made_at=BEGAN,
        made_by=person,
    )
    pattern = CurvePattern.objects.create(
        name="Warm road", form=to_json(IgnitionMap(8.0, AdvanceCurve(NODES, [0] * 5))), made_at=BEGAN, made_by=person
    )
    shares = np.cumsum([family[-1] for family in FAMILIES])
    sorts = [FAMILIES[int(np.searchsorted(shares, 100 * n / count, side="right"))] for n in range(count)]

    vehicles = Vehicle.objects.bulk_create(
        Vehicle(
            customer=customer,
            registration=f"MAD {n:03d} E",
            maker=sort[1],
            model="1500",
            year=1960 + n % 20,
            made_at=BEGAN,
        )
        for n, sort in enumerate(sorts)
    )
    Engine.objects.bulk_create(
        Engine(
            vehicle=vehicle,
            family=sort[0],
            cylinders=sort[2],
            bore_mm=sort[3],
            stroke_mm=sort[4],
            compression_ratio=sort[5],
            fuel_ron=sort[6],
        )
        for vehicle, sort in zip(vehicles, sorts, strict=True)
    )
    Distributor.objects.bulk_create(Distributor(vehicle=vehicle) for vehicle in vehicles)
    Coil.objects.bulk_create(Coil(vehicle=vehicle) for vehicle in vehicles)

    made = MadeWorkshop()
    units, jobs, versions, read_backs, crossings, runs, notes, costs, trail, later = ([] for _ in range(10))
    span = (NOW - BEGAN) / count
    for n, (vehicle, sort) in enumerate(zip(vehicles, sorts, strict=True)):
        booked = BEGAN + n * span
        replaced = bool(draw.random() < 0.08)
        car = MadeCar(
            family=sort[0],
            code=f"20-{n + 1:04d}",
            map=_drawn_map(draw, sort[2]),
            versions=int(draw.choice([1, 2, 3], p=[0.5, 0.3, 0.2])),
            start=str(draw.choice(STARTS)),
            less=float(draw.choice([0.0, -1.0, -2.0, -3.0])),
            hours={"fitting": float(draw.integers(8, 24)) / 2, "map": float(draw.integers(1, 9)) / 2},
            firmware=str(draw.choice(["1.2", "1.3"])),
            replaced=replaced,
            came_back_after=int(draw.integers(10, 700)) if draw.random() < 0.15 else None,
            handed_over=booked + timedelta(days=4),
        )
        made.cars.append(car)
        unit = FittedUnit(
            revision=revision,
            serial_number=f"B{n:05d}",
            vehicle=vehicle,
            firmware=car.firmware,
            made_at=booked,
            removed_at=car.handed_over + timedelta(days=800) if replaced else None,
        )
        units.append(unit)
        job = Job(
            code=car.code,
            vehicle=vehicle,
            unit=unit,
            wanted="Runs without the points.",
            stage="after-care",
            made_at=booked,
            made_by=person,
        )
        jobs.append(job)
        own = _versions(car, job, revision, person, pattern if car.start == "pattern" else None, booked)
        versions += own
        for which, version in enumerate(own[:-1]):
            run = RoadRun(
                job=job,
                map_version=version,
                route="Quarry hill",
                driver=person,
                begun_at=version.made_at + timedelta(hours=1),
            )
            runs.append(run)
            notes.append(
                RoadNote(**_fact(person, run.begun_at), run=run, kind="pinking", severity=2 + which % 2, rpm=LESS_AT)
            )
        read_backs.append(
            ReadBack(
                **_fact(person, car.handed_over - timedelta(hours=2)),
                map_version=own[-1],
                unit=unit,
                shown={},
                clean=True,
                power_cycled=True,
            )
        )
        crossings.append(GateCrossing(job=job, left="handover", entered="after-care", by=person, at=car.handed_over))
        for stage, hours in car.hours.items():
            line = CostLine(
                **_fact(person, booked), job=job, kind="hours", description=stage, quantity=hours, unit_price=60
            )
            costs.append(line)
            trail.append((job, stage, str(line.pk), booked))
        if car.came_back_after is not None:
            back = car.handed_over + timedelta(days=car.came_back_after)
            if back < NOW:
                later.append(
                    Job(
                        code=f"27-{n + 1:04d}",
                        vehicle=vehicle,
                        wanted="Put it right.",
                        complaint="Pinks on the hill.",
                        kind="settings",
                        stage="inspection",
                        made_at=back,
                        made_by=person,
                    )
                )
        if replaced:
            later.append(
                Job(
                    code=f"28-{n + 1:04d}",
                    vehicle=vehicle,
                    wanted="New unit.",
                    complaint="Unit dead.",
                    kind="unit replaced",
                    stage="base-timing",
                    made_at=car.handed_over + timedelta(days=799),
                    made_by=person,
                )
            )
    for model, rows in (
        (FittedUnit, units),
        (Job, [*jobs, *later]),
        *((MapVersion, [one for one in versions if one.number == number]) for number in (1, 2, 3)),  # parents first
        (ReadBack, read_backs),
        (GateCrossing, crossings),
        (RoadRun, runs),
        (RoadNote, notes),
        (CostLine, costs),
    ):
        model.objects.bulk_create(rows)
    TrailEntry.objects.bulk_create(
        TrailEntry(
            at=at,
            by=person,
            event=Event.COST_ENTERED,
            subject_kind="job",
            subject_id=job.pk,
            job_id=job.pk,
            stage=stage,
            figures={"line": line},
        )
        for job, stage, line, at in trail
    )
    return made


def _drawn_map(draw: np.random.Generator, cylinders: int) -> IgnitionMap:
    """What the car went home with: round figures, around a middle that depends on the engine."""
    rises = np.round(draw.normal([0, 8 + cylinders / 2, 7, 4, 2], [0.5, 1.5, 1.5, 1, 0.7]) * 2) / 2
    curve = AdvanceCurve(NODES, np.maximum(np.cumsum(rises), 0.0))
    ramp = VacuumRamp(float(draw.integers(8, 16)), float(draw.integers(30, 46)), float(draw.integers(8, 15)))
    limit = float(draw.choice([5500.0, 6000.0]))
    return IgnitionMap(float(draw.integers(6, 13)), curve, ramp, dwell_ms=3.0, rev_limit_rpm=limit)


def _versions(car, job, revision, person, pattern, booked) -> list[MapVersion]:
    """The released versions of a car, the last of which it went home with."""
    made, parent = [], None
    for number in range(1, car.versions + 1):
        still_to_take = car.less * (car.versions - number)
        degrees = [
            value - (still_to_take if rpm == LESS_AT else 0.0)
            for rpm, value in zip(car.map.curve.rpm, car.map.curve.degrees, strict=True)
        ]
        one = IgnitionMap(
            car.map.base_deg,
            AdvanceCurve(car.map.curve.rpm, degrees),
            car.map.vacuum,
            dwell_ms=car.map.dwell_ms,
            rev_limit_rpm=car.map.rev_limit_rpm,
        )
        at = booked + timedelta(days=1, hours=6 * number)
        origin = f"version {number - 1}" if parent else "the template curve 'Warm road'" if pattern else car.start
        parent = MapVersion(
            job=job,
            number=number,
            parent=parent,
            origin=origin,
            pattern=pattern if number == 1 else None,
            reason="pinking" if number > 1 else "first",
            unit_revision=revision,
            author=person,
            made_at=at,
            released_at=at,
            released_by=person,
            delivered=to_json(one),
            content_hash=content_hash_of(target=one, delivered=one, revision=revision),
            content_hash_form=NEWEST_FORM,
            **to_columns(one),
        )
        made.append(parent)
    return made


def _fact(person: Staff, at: datetime) -> dict[str, object]:
    return {"id": uuid.uuid4(), "by": person, "device": None, "made_at": at, "received_at": at}
