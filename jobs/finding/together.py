"""Words that stand in different places: a name and a plate, a make and what the car came for, a plate and a note."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from garage.finding.index import Hit, matching
from garage.finding.words import Asked, fold, holds, ways_anywhere
from garage.record.models import TrailEntry, kind_of
from garage.units.models import FittedUnit
from garage.vehicles.models import Vehicle
from jobs.job.models import Job

HEADS = ("customers", "cars", "units", "jobs")
# Of a word that half the book has, the newest are looked at: the rarer words beside it say which.
MOST_LOOKED_AT = 60
FEW_JOBS, MOST_LINES = 10, 400


@dataclass(frozen=True, slots=True)
class Together:
    """Keys of the cars and jobs that hold all words between them, and lines of a journal that do so with their job."""

    cars: list[int]
    jobs: list[int]
    lines: list[Hit]


def standing_together(asked: Asked) -> Together:
    """What holds every word of `asked`, some in one place and some in another.

    The rarest word names the candidates, and the others are looked for in what is said of those.
    """
    by_word = {word: _hits(word) for word in asked.words}
    known = {word: hits for word, hits in by_word.items() if hits}
    # A word that is in no journal either stands with no other.
    if not known or any(word not in known and not _is_in_a_journal(word) for word in asked.words):
        return Together([], [], [])
    rarest = min(known, key=lambda word: len(known[word]))
    cars, jobs = _candidates(known[rarest])
    said_of_cars = {car.pk: _said_of_car(car) for car in cars}
    said = {job.pk: _said_of_car(job.vehicle) + _said_of_job(job) for job in jobs}
    return Together(
        cars=[key for key, words in said_of_cars.items() if _holds_all(words, asked.words)],
        jobs=[key for key, words in said.items() if _holds_all(words, asked.words)],
        lines=_lines(dict(list(said.items())[:FEW_JOBS]), asked),
    )


def _hits(word: str) -> list[Hit]:
    return [hit for room in HEADS for hit, _ in matching(room, ways_anywhere(word), most=MOST_LOOKED_AT)]


def _is_in_a_journal(word: str) -> bool:
    return bool(matching("journal", ways_anywhere(word), most=1))


def _candidates(hits: list[Hit]) -> tuple[list[Vehicle], list[Job]]:
    keys: dict[str, list[int]] = {}
    for kind, thing in hits:
        keys.setdefault(kind, []).append(int(thing))
    units = FittedUnit.objects.filter(
        Q(pk__in=keys.get("fittedunit", [])) | Q(revision__unit_type__in=keys.get("unittype", []))
    ).order_by("-pk")[:MOST_LOOKED_AT]
    in_cars, unit_keys = [unit.vehicle_id for unit in units if unit.vehicle_id], [unit.pk for unit in units]
    cars = Vehicle.objects.filter(
        Q(pk__in=[*keys.get("vehicle", []), *in_cars])
        | Q(customer__in=keys.get("customer", []))
        | Q(engine__in=keys.get("engine", []))
        | Q(distributor__in=keys.get("distributor", []))
    )
    found = list(cars.select_related("customer", "engine", "distributor").order_by("-pk")[:MOST_LOOKED_AT])
    jobs = Job.objects.filter(
        Q(pk__in=keys.get("job", [])) | Q(vehicle__in=[car.pk for car in found]) | Q(unit__in=unit_keys)
    )
    return found, list(jobs.with_car().order_by("-pk")[:MOST_LOOKED_AT])


def _said_of_car(car: Vehicle) -> str:
    numbers = [car.registration, car.chassis_number, car.engine.number, car.distributor.number]
    return _said([car.maker, car.model, car.notes, car.engine.family, car.customer.name], numbers)


def _said_of_job(job: Job) -> str:
    unit = job.unit
    of_unit = [unit.serial_number, unit.firmware, unit.batch] if unit else []
    words = [job.wanted, job.complaint, job.state_reason, *([unit.revision.unit_type.name] if unit else [])]
    return _said(words, [job.code, *of_unit])


def _said(words: Iterable[str], numbers: list[str]) -> str:
    """Everything folded; numbers once more without their separators."""
    bare = " ".join(fold(number).replace(" ", "") for number in numbers)
    return fold(" ".join([*words, *numbers])) + bare + " "


def _holds_all(said: str, words: Iterable[str]) -> bool:
    return all(holds(said, word) for word in words)


def _lines(said: dict[int, str], asked: Asked) -> list[Hit]:
    """Lines of the journals of a few jobs that hold what their job does not say, and so all words with it."""
    missing = {key: [word for word in asked.words if not holds(words, word)] for key, words in said.items()}
    near = [key for key, words in missing.items() if 0 < len(words) < len(asked.words)]
    if not near:
        return []
    newest = TrailEntry.objects.filter(job_id__in=near).order_by("-at", "-pk")[:MOST_LINES]
    return [
        (kind_of(line), str(line.pk))
        for line in newest
        if line.job_id is not None and _holds_all(fold(line.sentence), missing[line.job_id])
    ]
