"""How far a car goes in a year, by what its odometer read whenever it came in."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from django.utils import timezone
from django.utils.formats import date_format

from jobs.job.models import Job, Stage
from timing.units import KM_PER_MILE

# Readings nearer together say little about a year. Common practice, no source. [days]
SHORTEST_SPAN = 60
DAYS_A_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Reading:
    """What an odometer read on a day. [km]"""

    day: date
    km: float


@dataclass(frozen=True, slots=True)
class Mileage:
    """How far a car usually goes in a year [km], and the two readings it is reckoned from."""

    km_a_year: float
    first: Reading
    last: Reading
    odometer_unit: str

    @property
    def words(self) -> str:
        """'about 4300 miles a year: 31882 on 3 May 2025, 36200 on 2 May 2026'."""
        a_year = round(self._shown(self.km_a_year), -2)
        return (
            f"about {a_year:.0f} {self.odometer_unit} a year: {self._shown(self.first.km):.0f} on "
            f"{date_format(self.first.day, 'j M Y')}, {self._shown(self.last.km):.0f} on "
            f"{date_format(self.last.day, 'j M Y')}"
        )

    def _shown(self, km: float) -> float:
        return km / KM_PER_MILE if self.odometer_unit == "miles" else km


def mileage(readings: Iterable[Reading], odometer_unit: str) -> Mileage | None:
    """How far the car goes in a year, between its first and its last reading.

    Where an odometer went back (another instrument, or past its last figure), only what was read since counts. None
    where two readings are not so far apart that they speak of a year, or it did not move.
    """
    ordered = sorted(readings, key=lambda one: one.day)
    start = 0
    for place, (before, after) in enumerate(pairwise(ordered)):
        if after.km < before.km:
            start = place + 1
    ordered = ordered[start:]
    if len(ordered) < 2:
        return None
    first, last = ordered[0], ordered[-1]
    days = (last.day - first.day).days
    if days < SHORTEST_SPAN or last.km <= first.km:
        return None
    return Mileage((last.km - first.km) / days * DAYS_A_YEAR, first, last, odometer_unit)


def reading_of(job: Job) -> Reading | None:
    """What the odometer read as the car came in for `job`: on the day it went on from the booking."""
    if job.odometer is None:
        return None
    left = [crossing.at for crossing in job.crossings.all() if crossing.left == Stage.BOOKED]
    day = timezone.localdate(left[0]) if left else job.booked_for or timezone.localdate(job.made_at)
    return Reading(day, job.odometer * (KM_PER_MILE if job.odometer_unit == "miles" else 1.0))
