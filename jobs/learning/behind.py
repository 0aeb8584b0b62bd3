"""The cars behind a figure: what every figure of the page leads to."""

from collections.abc import Iterable
from dataclasses import dataclass

from jobs.likeness.stayed import HandedOver


@dataclass(frozen=True, slots=True)
class Car:
    """One job behind a figure, and what it adds to it."""

    code: str
    car: str
    said: str = ""


@dataclass(frozen=True, slots=True)
class Behind:
    """The cars behind one figure. `key` names it in the address; an empty list is a figure of nought."""

    key: str
    title: str
    cars: tuple[Car, ...] = ()

    @property
    def count(self) -> int:
        return len(self.cars)


def car_of(handover: HandedOver, said: str = "") -> Car:
    return Car(handover.code, handover.car, said)


def find(figures: Iterable[Behind], key: str) -> Behind | None:
    return next((one for one in figures if one.key == key), None)
