"""What the work needs to know of a car: asked on one page after the booking, and proposed from a like car.

What a sheet of the job measures is not asked: earth polarity at every kind, and at a conversion all that its inspection
finds. Whoever does not know a fact leaves it empty; the page that depends on it says so.
"""

from dataclasses import dataclass
from typing import Any

from garage.units.models import FittedUnit
from garage.units.queries import on_the_shelf
from garage.vehicles.models import Vehicle
from jobs.job.models import Job, JobKind, Stage

# Part of the car ('' for the car itself) and column.
Column = tuple[str, str]

# Asked of a twin alone: of any other engine it goes without saying.
HAS_ROTOR: Column = ("distributor", "has_rotor")

OF_MAP: tuple[Column, ...] = (
    ("distributor", "base_timing_deg"),
    ("engine", "idle_rpm"),
)
WITHOUT_INSPECTION: tuple[Column, ...] = (
    ("", "system_volts"),
    ("engine", "firing_order"),
    ("engine", "red_line_rpm"),
    ("distributor", "trigger"),
    ("distributor", "rotation"),
    HAS_ROTOR,
)
# A check and a replaced unit start from what an earlier job left in the car.
ASKED_FOR: dict[str, tuple[Column, ...]] = {
    JobKind.CONVERSION: OF_MAP,
    JobKind.UNIT_AND_MAP: (*WITHOUT_INSPECTION, *OF_MAP),
    JobKind.SETTINGS: (*WITHOUT_INSPECTION, *OF_MAP),
}


def value_of(vehicle: Vehicle, column: Column) -> Any:
    """What the record says; None where it says nothing."""
    part, name = column
    value = getattr(getattr(vehicle, part) if part else vehicle, name)
    return None if value == "" else value


def facts_needed(job: Job) -> list[Column]:
    """What is asked of the job's car and not known of it yet."""
    return [column for column in ASKED_FOR.get(job.kind, ()) if _is_lacking(job.vehicle, column)]


def _is_lacking(vehicle: Vehicle, column: Column) -> bool:
    is_asked = column != HAS_ROTOR or vehicle.engine.cylinders == 2
    return is_asked and value_of(vehicle, column) is None


def needs_something(job: Job) -> bool:
    """Whether a car that is booked lacks a fact, or the unit that is to go in."""
    return job.stage == Stage.BOOKED and bool(facts_needed(job) or lacks_unit(job))


def lacks_unit(job: Job) -> bool:
    return job.unit_id is None and Stage.FITTING in job.stages and on_the_shelf().exists()


def proposed_unit(job: Job) -> FittedUnit | None:
    """The unit that is most likely meant: the only one on the shelf, or the oldest there of the type fitted last."""
    shelf = list(on_the_shelf().order_by("pk"))
    if len(shelf) == 1:
        return shelf[0]
    last = Job.objects.exclude(unit=None).order_by("-pk").select_related("unit__revision").first()
    if last is None or last.unit is None:
        return None
    fitted = last.unit.revision.unit_type_id
    return next((unit for unit in shelf if unit.revision.unit_type_id == fitted), None)


@dataclass(frozen=True, slots=True)
class LikeValue:
    """A value that another car of the same make and model has."""

    value: Any
    car: Vehicle


def proposals(vehicle: Vehicle, columns: list[Column]) -> dict[Column, LikeValue]:
    """For each of `columns` the value of the newest car of the same make and model in the book that knows it."""
    like = (
        Vehicle.objects.filter(maker__iexact=vehicle.maker, model__iexact=vehicle.model)
        .exclude(pk=vehicle.pk)
        .select_related("engine", "distributor", "coil")
        .order_by("-pk")[:LOOKED_AT]
    )
    found: dict[Column, LikeValue] = {}
    for car in like:
        for column in columns:
            if column not in found and (value := value_of(car, column)) is not None:
                found[column] = LikeValue(value, car)
    return found


LOOKED_AT = 20  # like cars: a workshop of one make has many
