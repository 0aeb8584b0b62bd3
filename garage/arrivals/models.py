"""Lists of customers and cars: one that waits for its reader, and what was brought in from which."""

import uuid

from django.db import models
from django.db.models import Q

from garage.customers.models import Customer
from garage.people.models import Staff
from garage.vehicles.models import Vehicle


class WaitingList(models.Model):
    """A list that somebody uploaded and has not brought in yet. No part of the book, and gone after a day."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    by = models.ForeignKey(Staff, models.CASCADE, related_name="+")
    at = models.DateTimeField()
    file_name = models.CharField(max_length=120)
    header = models.JSONField()  # the words of the first line
    rows = models.JSONField()  # [[line of the file, [cells]]]
    columns = models.JSONField(default=list)  # for each column the key of what it holds; empty: left out
    choices = models.JSONField(default=dict)  # {"7 car": "fill"}: what is done with a double, by line and part


class Arrival(models.Model):
    """A list that was brought in, and whether that was undone."""

    idempotency_key = models.UUIDField(unique=True, editable=False)
    by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    file_name = models.CharField(max_length=120)
    row_count = models.PositiveIntegerField()
    customers_made = models.PositiveIntegerField()
    cars_made = models.PositiveIntegerField()
    filled = models.PositiveIntegerField()  # customers and cars that were there, with something added
    left_out = models.PositiveIntegerField()  # rows that were refused, there already or doubled
    undone_by = models.ForeignKey(Staff, models.PROTECT, null=True, related_name="+")
    undone_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(undone_at=None, undone_by=None) | Q(undone_at__isnull=False, undone_by__isnull=False),
                name="arrival_undone_by_a_person_at_a_moment",
            ),
        ]

    def __str__(self) -> str:
        return self.file_name


class Arrived(models.Model):
    """That a customer or car came from a list: made by it, or with something added that was not known."""

    arrival = models.ForeignKey(Arrival, models.PROTECT, related_name="arrived")
    line = models.PositiveIntegerField()  # of the file
    customer = models.ForeignKey(Customer, models.CASCADE, null=True, related_name="arrived")
    vehicle = models.ForeignKey(Vehicle, models.CASCADE, null=True, related_name="arrived")
    filled = models.JSONField(default=list)  # the columns that were filled; empty: it was made by the list
    row_version = models.PositiveIntegerField()  # of the thing, once this was written

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(customer=None, vehicle__isnull=False) | Q(customer__isnull=False, vehicle=None),
                name="arrived_is_a_customer_or_a_car",
            ),
        ]


class ColumnPlan(models.Model):
    """Which columns of a list hold what, kept under its header and offered when the same header comes again."""

    header_sha256 = models.CharField(max_length=64, unique=True)  # a list without a header begins with a person
    columns = models.JSONField()
    at = models.DateTimeField()
