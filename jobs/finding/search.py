"""One box finds anything: a car, a customer, a unit, a job, and what was written about one."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from django.db.models import Q

from garage.customers.models import Customer
from garage.finding.index import Hit, best_first, matching, spellings
from garage.finding.layout import ROOMS
from garage.finding.words import SHORTEST_SPELLED, Asked, ways_anywhere
from garage.units.models import FittedUnit
from garage.vehicles.models import Vehicle
from jobs.finding.notes import Note, notes_of
from jobs.finding.together import HEADS, standing_together
from jobs.job.models import Job

MOST_FOUND = 20
# What was written about jobs: asked for another spelling where neither a name nor a number has one.
WRITTEN = tuple(room for room in ROOMS if room not in HEADS)


@dataclass(frozen=True, slots=True)
class Found:
    """The first matches of each kind, the best first. `instead` are words that were not there, with what is."""

    words: tuple[str, ...] = ()
    customers: list[Customer] = field(default_factory=list)
    vehicles: list[Vehicle] = field(default_factory=list)
    units: list[FittedUnit] = field(default_factory=list)
    jobs: list[Job] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    instead: tuple[tuple[str, str], ...] = ()

    @property
    def nothing(self) -> bool:
        return not (self.customers or self.vehicles or self.units or self.jobs or self.notes)


def search(text: str) -> Found:
    """What holds every word of `text`, or a number that reads like the whole of it.

    A car is found by its plate, chassis, engine or distributor number or its customer, a unit by its serial number,
    firmware or batch, a job by those of its car and unit too. Where nothing is found, a word that is not in the book
    may have one letter wrong.
    """
    asked = Asked.of(text)
    found = _found(asked)
    if not found.nothing or not asked.words:
        return found
    for word in asked.words:
        # Of a single word it is known by now that it stands nowhere.
        if not _may_be_misspelled(word) or (len(asked.words) > 1 and _stands_somewhere(word)):
            continue
        for rooms in (HEADS, WRITTEN):
            for instead in spellings(rooms, word):
                found = _found(asked.with_word(word, instead))
                if not found.nothing:
                    return replace(found, instead=((word, instead),))
    return found


def _may_be_misspelled(word: str) -> bool:
    """A figure wrong in a number is another number."""
    return len(word) >= SHORTEST_SPELLED and not any(letter.isdigit() for letter in word)


def _stands_somewhere(word: str) -> bool:
    return any(matching(room, ways_anywhere(word), most=1) for room in ROOMS)


def _found(asked: Asked) -> Found:
    if not asked.words:
        return Found()
    hits = {room: best_first(room, asked, most=MOST_FOUND) for room in ROOMS}
    in_one_place = any(hits[room] for room in HEADS)
    together = standing_together(asked) if len(asked.words) > 1 and not in_one_place else None
    customers = _in_order(Customer.objects.in_bulk(_keys(hits["customers"], "customer")), hits["customers"])
    units = _units(hits["units"])
    cars = _cars(hits["cars"], customers, together.cars if together else [])
    jobs = _jobs(hits["jobs"], together.jobs if together else [], cars, units)
    lines = [*hits["journal"], *(together.lines if together else [])]
    return Found(
        words=(*asked.words, *([asked.as_number] if asked.as_number else [])),
        customers=customers,
        vehicles=cars,
        units=units,
        jobs=jobs,
        notes=notes_of([*hits["notes"], *dict.fromkeys(lines)], most=MOST_FOUND),
    )


def _keys(hits: Iterable[Hit], kind: str) -> list[int]:
    return [int(thing) for of_kind, thing in hits if of_kind == kind]


def _in_order(known: dict[int, Customer], hits: Iterable[Hit]) -> list[Customer]:
    return [known[key] for key in _keys(hits, "customer") if key in known]


def _cars(hits: list[Hit], customers: list[Customer], more: list[int]) -> list[Vehicle]:
    """The cars that were found by themselves or by a part of theirs, then those of the customers found."""
    asked = Q(pk__in=[*_keys(hits, "vehicle"), *more]) | Q(engine__in=_keys(hits, "engine"))
    asked |= Q(distributor__in=_keys(hits, "distributor"))
    cars = Vehicle.objects.select_related("customer", "engine", "distributor")
    known = {car.pk: car for car in cars.filter(asked)}
    by_part = {("engine", str(car.engine.pk)): car.pk for car in known.values()}
    by_part |= {("distributor", str(car.distributor.pk)): car.pk for car in known.values()}
    keys = [by_part[hit] if hit in by_part else int(hit[1]) for hit in hits if hit in by_part or hit[0] == "vehicle"]
    found = [known[key] for key in dict.fromkeys([*keys, *more]) if key in known]
    if customers and len(found) < MOST_FOUND:
        theirs = cars.filter(customer__in=customers).order_by("-pk")[:MOST_FOUND]
        found += [car for car in theirs if car not in found]
    return found[:MOST_FOUND]


def _units(hits: list[Hit]) -> list[FittedUnit]:
    """The units that were found by their own words, then those of the types found."""
    units = FittedUnit.objects.select_related("revision__unit_type", "vehicle")
    known = units.in_bulk(_keys(hits, "fittedunit"))
    found = [known[key] for key in _keys(hits, "fittedunit") if key in known]
    types = _keys(hits, "unittype")
    if types and len(found) < MOST_FOUND:
        of_type = units.filter(revision__unit_type__in=types).order_by("-pk")[:MOST_FOUND]
        found += [unit for unit in of_type if unit not in found]
    return found[:MOST_FOUND]


def _jobs(hits: list[Hit], more: list[int], cars: list[Vehicle], units: list[FittedUnit]) -> list[Job]:
    """The jobs that were found by their own words, then those of the cars and units found."""
    keys = list(dict.fromkeys([*_keys(hits, "job"), *more]))[:MOST_FOUND]
    jobs = Job.objects.with_car()
    known = jobs.in_bulk(keys)
    found = [known[key] for key in keys if key in known]
    if len(found) < MOST_FOUND and (cars or units):
        theirs = jobs.filter(Q(vehicle__in=cars) | Q(unit__in=units)).order_by("-pk")[:MOST_FOUND]
        found += [job for job in theirs if job not in found]
    return found[:MOST_FOUND]
