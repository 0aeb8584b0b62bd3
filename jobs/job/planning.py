"""Which days of a job go together: it comes, it is promised, and whoever works on it is there."""

from dataclasses import dataclass
from datetime import date

from garage.people.models import Staff
from garage.quantities.days import TOO_FAR, too_far
from garage.rota.queries import absence_on

PROMISED_TOO_EARLY = "Promised before the car comes in."

# The columns of a job that these rules read.
DAYS = ("booked_for", "promised_for", "mechanic")


@dataclass(frozen=True, slots=True)
class Days:
    """When a car comes, when it is promised, and who works on it."""

    booked_for: date | None
    promised_for: date | None
    mechanic: Staff | None


def problems(days: Days, *, today: date, before: Days | None = None) -> dict[str, str]:
    """What is wrong with `days`, by the column where it is put right; empty where nothing is.

    Whoever works on a car has to be there on the day it is promised, or on the day it comes where none is. A day that
    was the same `before` may lie as far from `today` as it likes.
    """
    found = {}
    for name in ("booked_for", "promised_for"):
        day = getattr(days, name)
        if too_far(day, today) and (before is None or day != getattr(before, name)):
            found[name] = TOO_FAR
    if found:
        return found
    if days.booked_for and days.promised_for and days.promised_for < days.booked_for:
        found["promised_for"] = PROMISED_TOO_EARLY
    day = days.promised_for or days.booked_for
    if days.mechanic and day:
        absence = absence_on(days.mechanic, day)
        if absence:
            found["mechanic"] = f"{days.mechanic} is away {absence.days}. Choose another day or person."
    return found
