"""What the programmable units can hold, and the very units that are fitted."""

import uuid

from django.db import models

import timing.unit
from garage.people.models import Staff
from garage.units.capability import unit_type_from
from garage.vehicles.models import Vehicle


class UnitType(models.Model):
    """A kind of programmable unit, described by what it can hold so that no maker is built in."""

    name = models.CharField(max_length=60, unique=True)
    retired = models.BooleanField(default=False)
    # so few on the shelf that some should be bought; empty: nobody is told
    low_mark = models.PositiveSmallIntegerField("low at", null=True, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class UnitTypeRevision(models.Model):
    """A unit type as it was described at one time. Never changes: what was fitted by it must stay explicable."""

    unit_type = models.ForeignKey(UnitType, models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField()
    # the fields of `timing.unit.UnitType`, which refuses what makes no sense
    capability = models.JSONField()
    reason = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["unit_type", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["unit_type", "number"], name="unit_type_revision_number_once"),
        ]

    def __str__(self) -> str:
        return f"{self.unit_type} (revision {self.number})"

    def holds(self) -> timing.unit.UnitType:
        """What the unit can hold, for `timing`."""
        return unit_type_from(self.capability)


class FittedUnit(models.Model):
    """One unit with its serial number, in a car or on the shelf."""

    revision = models.ForeignKey(UnitTypeRevision, models.PROTECT, related_name="units")
    serial_number = models.CharField(max_length=40)
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, null=True, blank=True, related_name="units")
    # by which a whole batch is found again when its maker calls it back
    firmware = models.CharField(max_length=40, blank=True)
    batch = models.CharField(max_length=40, blank=True)
    notes = models.TextField(blank=True)
    made_at = models.DateTimeField()
    removed_at = models.DateTimeField(null=True, blank=True)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["serial_number"]
        indexes = [models.Index(fields=["serial_number", "id"], name="units_by_number")]

    def __str__(self) -> str:
        return f"{self.revision.unit_type} no. {self.serial_number}"
