"""How a car stands now: its last job, its unit, its map. Only the jobs know; they are named at the start."""

from collections.abc import Callable
from dataclasses import dataclass

from garage.vehicles.models import Vehicle


@dataclass(frozen=True, slots=True)
class Told:
    """One thing said of a car: what it is, where it comes from, and the page that says more."""

    text: str = ""
    source: str = ""
    url: str = ""


@dataclass(frozen=True, slots=True)
class CarNow:
    """What a car's page begins with. An empty text is a thing that there is not yet."""

    last_job: Told = Told()
    next_action: Told = Told()
    unit: Told = Told()
    map: Told = Told()


Tells = Callable[[Vehicle], CarNow]
_tells: list[Tells] = []


def install(tells: Tells) -> None:
    """Name who knows how a car stands."""
    _tells[:] = [tells]


def car_now(vehicle: Vehicle) -> CarNow:
    """How `vehicle` stands, as whoever was named tells it; nothing is known where nobody was."""
    return _tells[0](vehicle) if _tells else CarNow()
