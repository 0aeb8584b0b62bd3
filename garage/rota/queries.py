"""Who is there on which day, and for how long."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from garage.people.models import Staff
from garage.rota.models import Absence, Bay, WorkingWeek


@dataclass(frozen=True, slots=True)
class Rota:
    """The working weeks of some people, and their absences in some span of days."""

    people: list[Staff]
    weeks: dict[int, WorkingWeek]
    absences: dict[int, list[Absence]]

    def is_away(self, person_id: int, day: date) -> bool:
        return any(absence.first_day <= day <= absence.last_day for absence in self.absences.get(person_id, ()))

    def hours(self, person_id: int, day: date) -> Decimal:
        """How long the person works on `day`: nothing while away, or for somebody of whom the rota knows nothing."""
        week = self.weeks.get(person_id)
        return Decimal(0) if week is None or self.is_away(person_id, day) else week.hours_on(day)

    def hours_of_all(self, day: date) -> Decimal:
        return sum((self.hours(person.pk, day) for person in self.people), Decimal(0))


def rota(people: Iterable[Staff], first: date, last: date) -> Rota:
    """The rota of `people` from `first` to `last`."""
    people = list(people)
    kept = {week.person_id: week for week in WorkingWeek.objects.filter(person__in=people)}
    absences: dict[int, list[Absence]] = defaultdict(list)
    for absence in absences_between(first, last).filter(person__in=people):
        absences[absence.person_id].append(absence)
    weeks = {person.pk: kept.get(person.pk) or WorkingWeek(person=person) for person in people}
    return Rota(people, weeks, dict(absences))


def absences_between(first: date, last: date) -> QuerySet[Absence]:
    standing = Absence.objects.filter(cancelled_at=None, first_day__lte=last, last_day__gte=first)
    return standing.select_related("person")


def absence_on(person: Staff, day: date) -> Absence | None:
    return absences_between(day, day).filter(person=person).first()


def absences_from(day: date) -> QuerySet[Absence]:
    """Those that are not over on `day`."""
    return Absence.objects.filter(cancelled_at=None, last_day__gte=day).select_related("person")


def working_week(person: Staff) -> WorkingWeek:
    """The person's week; one that is not stored, with the usual hours, until the owner says otherwise."""
    return WorkingWeek.objects.filter(person=person).first() or WorkingWeek(person=person)


def open_bays() -> QuerySet[Bay]:
    return Bay.objects.filter(is_closed=False)
