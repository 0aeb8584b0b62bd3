"""A map taken over from a sheet of paper by the text of its camera code, whichever workshop set it."""

from dataclasses import dataclass

from garage.units.models import UnitType
from jobs.job.models import Job
from jobs.maps import origins
from jobs.maps import queries as maps
from timing.comparison import compare
from timing.ignition_map import IgnitionMap
from timing.map_text import map_from_text


@dataclass(frozen=True, slots=True)
class FromSheet:
    """What a sheet holds, and in what it differs from the car in hand."""

    map: IgnitionMap
    said: list[tuple[str, str]]  # what the sheet says of itself
    differs: list[str]
    origin: str


def read_sheet(job: Job, text: str) -> FromSheet:
    """The map of `text`, held against `job`: its car, its unit, and the map that is in the car now.

    Raises
    ------
    timing.errors.TimingError
        If the text is no map.
    """
    read = map_from_text(text)
    labels, checksum = read.labels, text.upper().split()[-1]
    of = ", ".join(f"{name.lower()} {labels[name]}" for name in ("CAR", "JOB", "VERSION") if name in labels)
    return FromSheet(
        map=read.ignition_map,
        said=[(name.capitalize(), value) for name, value in labels.items()],
        differs=[
            *_of_another_car(job, labels.get("CAR", "")),
            *_for_another_unit(job, labels.get("UNIT", "")),
            *_of_the_map(job, read.ignition_map),
        ],
        origin=f"{origins.SHEET}{f' of {of}' if of else ''}, check sum {checksum}"[:200],
    )


def _of_another_car(job: Job, plate: str) -> list[str]:
    own = job.vehicle.registration
    if not plate or _letters(plate) == _letters(own):
        return []
    return [f"The sheet is of {plate}, this car is {own}."]


def _for_another_unit(job: Job, unit: str) -> list[str]:
    """Units are told apart by their type's name, as the code's capitals write it."""
    own: UnitType | None = job.unit.revision.unit_type if job.unit else None
    if not unit or own is None or _letters(unit) == _letters(own.name):
        return []
    return [f"The sheet is for a {unit}, this car has a {own.name}. The points are fitted to its steps."]


def _of_the_map(job: Job, taken: IgnitionMap) -> list[str]:
    now = maps.in_car(job).version
    if now is None:
        return []
    changes = compare(now.ignition_map(), taken).sentence
    return [f"Against version {now.number}, now in the car: {changes}."]


def _letters(name: str) -> str:
    return "".join(sign for sign in name.upper() if sign.isalnum())
