"""A workshop of several hundred cars whose truth is known, written in bulk past the actions, as a book of years is.

Its makes, families and unit types are invented. What it was made of is kept beside it as plain numpy arrays: the
figures on the page are held against these, and not against what the program reads back.
"""

import uuid
from collections import defaultdict
from dataclasses import dataclass, replace
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
TEMPLATE = "the template curve 'Warm road'"
STARTS = (TEMPLATE, "the middle of the factory band", "a blank curve")
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
    booked: datetime
    handed_over: datetime

    @property
    def came_back_on(self) -> datetime | None:
        return None if self.came_back_after is None else self.handed_over + timedelta(days=self.came_back_after)


@dataclass
class MadeWorkshop:
    cars: list[MadeCar]

    def of(self, family: str) -> list[MadeCar]:
        return [car for car in self.cars if car.family == family]


def made_workshop(count: int = 400, seed: int = 13) -> MadeWorkshop:
    """`count` cars with all that was written about them."""
    draw = np.random.default_rng(seed)
    shares = np.cumsum([family[-1] for family in FAMILIES])
    sorts = [FAMILIES[int(np.searchsorted(shares, 100 * n / count, side="right"))] for n in range(count)]
    span = (NOW - BEGAN) / count
    cars = [_drawn_car(draw, sort, n, BEGAN + n * span) for n, sort in enumerate(sorts)]
    book = _Book()
    for n, (car, vehicle) in enumerate(zip(cars, _vehicles(sorts), strict=True)):
        book.write(n, car, vehicle)
    book.keep()
    return MadeWorkshop(cars)


def _drawn_car(draw: np.random.Generator, sort: tuple, n: int, booked: datetime) -> MadeCar:
    return MadeCar(
        family=sort[0],
        code=f"20-{n + 1:04d}",
        map=_drawn_map(draw, sort[2]),
        versions=int(draw.choice([1, 2, 3], p=[0.5, 0.3, 0.2])),
        start=str(draw.choice(STARTS)),
        less=float(draw.choice([0.0, -1.0, -2.0, -3.0])),
        hours={"fitting": float(draw.integers(8, 24)) / 2, "map": float(draw.integers(1, 9)) / 2},
        firmware=str(draw.choice(["1.2", "1.3"])),
        replaced=bool(draw.random() < 0.08),
        came_back_after=int(draw.integers(10, 700)) if draw.random() < 0.15 else None,
        booked=booked,
        handed_over=booked + timedelta(days=4),
    )


def _vehicles(sorts: list[tuple]) -> list[Vehicle]:
    """The cars with their engines; nothing else is known of them."""
    customer = Customer.objects.create(name="Customer of many", made_at=BEGAN)
    vehicles = Vehicle.objects.bulk_create(
        Vehicle(customer=customer, registration=f"MAD {n:03d} E", maker=sort[1], model="1500", made_at=BEGAN)
        for n, sort in enumerate(sorts)
    )
    columns = ("family", "cylinders", "bore_mm", "stroke_mm", "compression_ratio", "fuel_ron")
    figures = [dict(zip(columns, (sort[0], *sort[2:7]), strict=True)) for sort in sorts]
    Engine.objects.bulk_create(Engine(vehicle=car, **known) for car, known in zip(vehicles, figures, strict=True))
    Distributor.objects.bulk_create(Distributor(vehicle=car) for car in vehicles)
    Coil.objects.bulk_create(Coil(vehicle=car) for car in vehicles)
    return vehicles


class _Book:
    """The rows of all cars, kept together in the order in which they name one another."""

    def __init__(self) -> None:
        self.person = Staff.objects.create(username="made-by", name="R. Made")
        self.revision = UnitTypeRevision.objects.create(
            unit_type=UnitType.objects.create(name="Bittern 12"),
            number=1,
            capability=capability_of(QUILL),
            made_at=BEGAN,
            made_by=self.person,
        )
        flat = IgnitionMap(8.0, AdvanceCurve(NODES, [0] * 5))
        self.template = CurvePattern.objects.create(
            name="Warm road", form=to_json(flat), made_at=BEGAN, made_by=self.person
        )
        self.rows = defaultdict(list)
        self.hours: list[tuple[Job, str, CostLine]] = []

    def write(self, n: int, car: MadeCar, vehicle: Vehicle) -> None:
        unit = FittedUnit(
            revision=self.revision,
            serial_number=f"B{n:05d}",
            vehicle=vehicle,
            firmware=car.firmware,
            made_at=car.booked,
            removed_at=car.handed_over + timedelta(days=800) if car.replaced else None,
        )
        self.rows[FittedUnit].append(unit)
        job = self._job(car.code, vehicle, car.booked, unit=unit, stage="after-care")
        home = self._road_to_the_last_version(car, job)
        self.rows[ReadBack].append(
            ReadBack(
                **self._fact(car.handed_over - timedelta(hours=2)),
                map_version=home,
                unit=unit,
                shown={},
                clean=True,
                power_cycled=True,
            )
        )
        self.rows[GateCrossing].append(
            GateCrossing(job=job, left="handover", entered="after-care", by=self.person, at=car.handed_over)
        )
        for stage, hours in car.hours.items():
            line = CostLine(
                **self._fact(car.booked), job=job, kind="hours", description=stage, quantity=hours, unit_price=60
            )
            self.rows[CostLine].append(line)
            self.hours.append((job, stage, line))
        if car.came_back_on is not None and car.came_back_on < NOW:
            self._job(f"27-{n + 1:04d}", vehicle, car.came_back_on, kind="settings", complaint="Pinks on the hill.")
        if car.replaced:
            dead = car.handed_over + timedelta(days=799)
            self._job(f"28-{n + 1:04d}", vehicle, dead, kind="unit replaced", complaint="Unit dead.")

    def keep(self) -> None:
        for model in (FittedUnit, Job):
            model.objects.bulk_create(self.rows[model])
        for number in (1, 2, 3):  # parents first
            MapVersion.objects.bulk_create(one for one in self.rows[MapVersion] if one.number == number)
        for model in (ReadBack, GateCrossing, RoadRun, RoadNote, CostLine):
            model.objects.bulk_create(self.rows[model])
        TrailEntry.objects.bulk_create(
            TrailEntry(
                at=job.made_at,
                by=self.person,
                event=Event.COST_ENTERED,
                subject_kind="job",
                subject_id=job.pk,
                job_id=job.pk,
                stage=stage,
                figures={"line": str(line.pk)},
            )
            for job, stage, line in self.hours
        )

    def _job(self, code: str, vehicle: Vehicle, made_at: datetime, **more) -> Job:
        job = Job(
            code=code,
            vehicle=vehicle,
            wanted="Runs without the points.",
            made_at=made_at,
            made_by=self.person,
            **{"stage": "inspection", **more},
        )
        self.rows[Job].append(job)
        return job

    def _road_to_the_last_version(self, car: MadeCar, job: Job) -> MapVersion:
        """The released versions of a car, each but the last driven and noted as pinking; the one it went home with."""
        parent = None
        for number in range(1, car.versions + 1):
            parent = self._version(car, job, number, parent)
            if number < car.versions:
                run = RoadRun(
                    job=job,
                    map_version=parent,
                    route="Quarry hill",
                    driver=self.person,
                    begun_at=parent.made_at + timedelta(hours=1),
                )
                note = RoadNote(**self._fact(run.begun_at), run=run, kind="pinking", severity=2, rpm=LESS_AT)
                self.rows[RoadRun].append(run)
                self.rows[RoadNote].append(note)
        return parent

    def _version(self, car: MadeCar, job: Job, number: int, parent: MapVersion | None) -> MapVersion:
        still_to_take = car.less * (car.versions - number)
        curve = zip(car.map.curve.rpm, car.map.curve.degrees, strict=True)
        degrees = [value - (still_to_take if rpm == LESS_AT else 0.0) for rpm, value in curve]
        one = replace(car.map, curve=AdvanceCurve(car.map.curve.rpm, degrees))
        at = car.booked + timedelta(days=1, hours=6 * number)
        template = self.template if car.start == TEMPLATE and parent is None else None
        version = MapVersion(
            job=job,
            number=number,
            parent=parent,
            origin=f"version {parent.number}" if parent else car.start,
            pattern=template,
            reason="pinking" if parent else "first",
            unit_revision=self.revision,
            author=self.person,
            made_at=at,
            released_at=at,
            released_by=self.person,
            delivered=to_json(one),
            content_hash=content_hash_of(target=one, delivered=one, revision=self.revision),
            content_hash_form=NEWEST_FORM,
            **to_columns(one),
        )
        self.rows[MapVersion].append(version)
        return version

    def _fact(self, at: datetime) -> dict[str, object]:
        return {"id": uuid.uuid4(), "by": self.person, "device": None, "made_at": at, "received_at": at}


def _drawn_map(draw: np.random.Generator, cylinders: int) -> IgnitionMap:
    """What the car went home with: round figures, around a middle that depends on the engine."""
    rises = np.round(draw.normal([0, 8 + cylinders / 2, 7, 4, 2], [0.5, 1.5, 1.5, 1, 0.7]) * 2) / 2
    curve = AdvanceCurve(NODES, np.maximum(np.cumsum(rises), 0.0))
    ramp = VacuumRamp(float(draw.integers(8, 16)), float(draw.integers(30, 46)), float(draw.integers(8, 15)))
    limit = float(draw.choice([5500.0, 6000.0]))
    return IgnitionMap(float(draw.integers(6, 13)), curve, ramp, dwell_ms=3.0, rev_limit_rpm=limit)
