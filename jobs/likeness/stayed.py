"""The maps that went home in cars: what a clean read-back had proven in the unit when the car was handed over."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from jobs.job.models import GateCrossing, JobState, Stage
from jobs.likeness.like import Likeness
from jobs.maps.models import MapVersion, ReadBack
from timing.ignition_map import IgnitionMap

# A workshop's work of many years: what lies further back is not looked at, and a page never takes longer for it.
MOST_HANDOVERS = 5000
MOST_CARS = 500

_ENGINE = "job__vehicle__engine__"


@dataclass(frozen=True, slots=True)
class HandedOver:
    """A job whose car was handed over, and is out."""

    job_id: int
    code: str
    vehicle_id: int
    car: str
    at: datetime


@dataclass(frozen=True, slots=True)
class StayedMap:
    """The map with which a car went home, as its unit delivers it."""

    handover: HandedOver
    version: MapVersion
    map: IgnitionMap


@dataclass(frozen=True, slots=True)
class Stayed:
    """The maps of like cars, one a car. `damaged` are those whose checksum does not match: they count for nothing."""

    maps: Sequence[StayedMap]
    damaged: Sequence[HandedOver] = ()


def handed_over(like: Likeness, *, but: int | None = None) -> list[HandedOver]:
    """The handovers of cars with such an engine, the newest first: of at most `MOST_CARS` cars.

    `but` is a car that does not count: the one that is compared with the others. A car that came back and is in
    work again counts with the handover before.
    """
    newest = GateCrossing.objects.filter(entered=Stage.AFTER_CARE).order_by("-at", "-pk").values("pk")[:MOST_HANDOVERS]
    crossings = (
        GateCrossing.objects.filter(pk__in=newest, job__stage=Stage.AFTER_CARE)
        .exclude(job__state=JobState.ABANDONED)
        .annotate(**like.annotations(_ENGINE))
        .filter(like.of_engine(_ENGINE))
        .order_by("-at", "-pk")
    )
    if but is not None:
        crossings = crossings.exclude(job__vehicle_id=but)
    found: dict[int, HandedOver] = {}
    cars: set[int] = set()
    columns = ("job_id", "job__code", "job__vehicle_id", "at")
    named = ("job__vehicle__maker", "job__vehicle__model", "job__vehicle__year", "job__vehicle__registration")
    for job_id, code, vehicle_id, at, make, model, year, plate in crossings.values_list(*columns, *named):
        if job_id in found or (vehicle_id not in cars and len(cars) == MOST_CARS):
            continue
        cars.add(vehicle_id)
        name = f"{make} {model} · {year}" if year else f"{make} {model}"
        found[job_id] = HandedOver(job_id, code, vehicle_id, f"{name} · {plate}", at)
    return list(found.values())


def counts_all(handovers: Sequence[HandedOver]) -> bool:
    """Whether nothing was left out of `handovers` for the number of cars or of handovers in the book."""
    if len({one.vehicle_id for one in handovers}) == MOST_CARS:
        return False
    older = GateCrossing.objects.filter(entered=Stage.AFTER_CARE).order_by("-at", "-pk")[MOST_HANDOVERS:]
    return not older.exists()


def last_of_each_car(handovers: Iterable[HandedOver]) -> list[HandedOver]:
    """The newest handover of each car; `handovers` come newest first."""
    last: dict[int, HandedOver] = {}
    for one in handovers:
        last.setdefault(one.vehicle_id, one)
    return list(last.values())


def proven_versions(handovers: Sequence[HandedOver]) -> dict[int, int]:
    """Which version each job's car went home with, as a clean read-back had proven: job to version, by their keys.

    As `jobs.maps.queries.in_car` reads it, at the moment of the handover: a read-back that did not agree afterwards
    takes the proof away.
    """
    left_at = {one.job_id: one.at for one in handovers}
    read_backs = (
        ReadBack.objects.filter(map_version__job_id__in=left_at)
        .order_by("made_at", "received_at")
        .values_list("map_version__job_id", "map_version_id", "made_at", "clean", "mismatches")
    )
    proven: dict[int, int] = {}
    for job_id, version_id, made_at, clean, mismatches in read_backs:
        if made_at > left_at[job_id]:
            continue
        if clean:
            proven[job_id] = version_id
        elif mismatches:
            proven.pop(job_id, None)
    return proven


def stayed_maps(handovers: Sequence[HandedOver]) -> Stayed:
    """The map in each car since its last handover; without the cars in which none was proven."""
    last = last_of_each_car(handovers)
    proven = proven_versions(last)
    versions = MapVersion.objects.select_related("unit_revision").in_bulk(proven.values())
    maps, damaged = [], []
    for one in last:
        version = versions.get(proven.get(one.job_id, 0))
        if version is None or version.released_at is None:
            continue
        if version.is_sound():
            maps.append(StayedMap(one, version, version.delivered_map()))
        else:
            damaged.append(one)
    return Stayed(maps, damaged)
