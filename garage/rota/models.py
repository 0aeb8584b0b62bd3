"""Who works when, and the bays they work in."""

import uuid
from datetime import date
from decimal import Decimal

from django.db import models

from garage.people.models import Staff
from garage.quantities.limits import Between

# The columns of a working week, in the order in which Python counts weekdays.
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def hours_field(default: int) -> models.DecimalField:
    return models.DecimalField(
        max_digits=4, decimal_places=2, default=Decimal(default), validators=[Between(0, 24, "hours")]
    )


class Bay(models.Model):
    """A place in the workshop where a car stands, by the name that the owner gave it."""

    name = models.CharField(max_length=40, unique=True)
    is_closed = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class WorkingWeek(models.Model):
    """How long a person works on cars on each day of a usual week. [hours]

    Eight hours from Monday to Friday until the owner says otherwise: common practice, no source.
    """

    person = models.OneToOneField(Staff, models.PROTECT, related_name="working_week")
    monday = hours_field(8)
    tuesday = hours_field(8)
    wednesday = hours_field(8)
    thursday = hours_field(8)
    friday = hours_field(8)
    saturday = hours_field(0)
    sunday = hours_field(0)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    def __str__(self) -> str:
        return f"working week of {self.person}"

    def hours_on(self, day: date) -> Decimal:
        hours: Decimal = getattr(self, WEEKDAYS[day.weekday()])
        return hours


class Absence(models.Model):
    """The days on which a person is away, first and last among them. Why is nobody's business here."""

    person = models.ForeignKey(Staff, models.PROTECT, related_name="absences")
    first_day = models.DateField()
    last_day = models.DateField()
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    cancelled_at = models.DateTimeField(null=True, blank=True, editable=False)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["first_day", "pk"]
        indexes = [models.Index(fields=["last_day"], name="absences_that_are_not_over")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(last_day__gte=models.F("first_day")), name="absence_ends_after_it_begins"
            )
        ]

    def __str__(self) -> str:
        return f"{self.person} away {self.days}"

    @property
    def days(self) -> str:
        """'3 Dec 2026', or '28 Dec 2026 to 2 Jan 2027'."""
        first, last = (f"{day.day} {day:%b %Y}" for day in (self.first_day, self.last_day))
        return first if first == last else f"{first} to {last}"
