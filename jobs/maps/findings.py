"""The findings on a map in this car: what `timing.review` is told, and how its findings are lettered."""

from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_uppercase
from typing import Any

from garage.people.models import Workshop
from garage.quantities.words import pressure
from jobs.maps.car_values import CarValues, car_values
from jobs.maps.models import MapVersion
from jobs.maps.unit_fit import UnitFit
from timing.charts import FindingMark
from timing.ignition_map import IgnitionMap
from timing.review import Finding, Kind, PinkingNote, ReviewLimits, review
from timing.unit import UnitType


@dataclass(frozen=True, slots=True)
class Judged:
    """One finding with the letter it bears on the chart, and where the figure is entered that it lacks."""

    letter: str
    finding: Finding
    enter_url: str = ""

    @property
    def mark(self) -> FindingMark | None:
        """Its mark on the speed chart; None where it speaks of no speed."""
        if self.finding.rpm is None:
            return None
        low, high = self.finding.rpm
        return FindingMark(self.letter, self.finding.kind.value, low, high, self.finding.sentence)


def judged(
    target: IgnitionMap,
    unit: UnitType,
    car: CarValues,
    unit_fit: UnitFit,
    *,
    pinking: Sequence[PinkingNote] = (),
    vacuum_unit: str = "kPa",
) -> list[Judged]:
    """Everything found on a map in this car, lettered in the order of weight."""
    workshop = Workshop.objects.first()
    findings = review(
        target,
        car.engine,
        unit,
        car.coil,
        altitude_m=workshop.altitude_m if workshop else None,
        limits=limits_of(workshop),
        fitted=unit_fit.fitted,
        pinking=pinking,
        pressure=lambda kpa: pressure(kpa, vacuum_unit, 0 if vacuum_unit in ("kPa", "mbar", "mmHg") else 1),
    )
    return [Judged(_letter(place), finding, car.places.get(finding.code, "")) for place, finding in enumerate(findings)]


def stops_of(version: MapVersion, unit_fit: UnitFit) -> tuple[str, ...]:
    """The findings that say stop, as sentences."""
    found = judged(version.ignition_map(), version.unit_revision.holds(), car_values(version.job), unit_fit)
    return tuple(one.finding.sentence for one in found if one.finding.kind is Kind.STOP)


def limits_of(workshop: Workshop | None) -> ReviewLimits:
    if workshop is None:
        return ReviewLimits()
    return ReviewLimits(
        full_load_deg=workshop.full_load_limit_deg,
        anywhere_deg=workshop.total_limit_deg,
        cranking_deg=workshop.cranking_limit_deg,
        over_red_line_percent=workshop.over_red_line_percent,
    )


def findings_gained_and_lost(before: list[Judged], after: list[Judged]) -> tuple[list[Finding], list[Finding]]:
    """What the second map is found for and the first was not, and the other way round; by kind of finding and code."""

    def key(one: Judged) -> tuple[Any, ...]:
        return one.finding.kind, one.finding.code

    had, has = {key(one) for one in before}, {key(one) for one in after}
    return (
        [one.finding for one in after if key(one) not in had],
        [one.finding for one in before if key(one) not in has],
    )


def _letter(place: int) -> str:
    """A, B, … Z, AA, AB, …: a mark has room for two letters."""
    if place < len(ascii_uppercase):
        return ascii_uppercase[place]
    first, second = divmod(place - len(ascii_uppercase), len(ascii_uppercase))
    return ascii_uppercase[min(first, len(ascii_uppercase) - 1)] + ascii_uppercase[second]
