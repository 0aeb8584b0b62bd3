"""Map versions, and the read-backs that prove which of them is in the car."""

import uuid

from django.db import models
from django.db.models import Q

from garage.people.models import Staff, VacuumUnit
from garage.quantities.limits import Between
from garage.units.models import FittedUnit, UnitTypeRevision
from garage.vehicles.models import TriggerKind
from jobs.card.facts import RecordedFact
from jobs.card.models import Job


class VacuumScheme(models.TextChoices):
    NONE = "none", "none"
    RAMP = "ramp", "ramp"
    TABLE = "table", "table"


class RevLimitManner(models.TextChoices):
    SOFT = "soft", "soft: sparks dropped in rotation"
    HARD = "hard", "hard: all sparks dropped"


class MapVersionQuerySet(models.QuerySet["MapVersion"]):
    def drafts(self) -> "MapVersionQuerySet":
        return self.filter(released_at__isnull=True)

    def released(self) -> "MapVersionQuerySet":
        return self.filter(released_at__isnull=False)


class MapVersion(models.Model):
    """One version of a job's map, as wanted. A draft may change, a released version never does."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="map_versions")
    number = models.PositiveSmallIntegerField()
    parent = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="children")
    origin = models.CharField(max_length=200)  # where the start values came from, in words
    reason = models.CharField(max_length=300)  # why this version was made
    unit_revision = models.ForeignKey(UnitTypeRevision, models.PROTECT, related_name="map_versions")

    base_deg = models.FloatField("base timing", validators=[Between(-10, 40, "degrees")])
    curve = models.JSONField()  # rows of [rpm, degrees counted from base timing]
    vacuum_scheme = models.CharField(max_length=8, choices=VacuumScheme, default=VacuumScheme.NONE)
    vacuum_unit = models.CharField(max_length=8, choices=VacuumUnit, default=VacuumUnit.KPA)  # as it was entered
    vacuum_start_kpa = models.FloatField(null=True, blank=True, validators=[Between(0, 95, "kPa")])
    vacuum_full_kpa = models.FloatField(null=True, blank=True, validators=[Between(0, 100, "kPa")])
    vacuum_full_deg = models.FloatField(null=True, blank=True, validators=[Between(0, 40, "degrees")])
    vacuum_from_rpm = models.FloatField(default=0, validators=[Between(0, 6000, "rpm")])
    vacuum_table = models.JSONField(default=dict, blank=True)  # {"rpm": […], "vacuum": […kPa], "degrees": [[…], …]}
    boost = models.JSONField(default=list, blank=True)  # rows of [kPa above atmosphere, degrees of retard]
    dwell_ms = models.FloatField("dwell", null=True, blank=True, validators=[Between(0.3, 20, "ms")])
    rev_limit_rpm = models.FloatField("rev limit", null=True, blank=True, validators=[Between(1000, 15000, "rpm")])
    rev_limit_manner = models.CharField(max_length=8, choices=RevLimitManner, blank=True)
    repeated_sparks = models.BooleanField("repeated sparks while cranking", default=False)
    trigger = models.CharField("trigger kind", max_length=16, choices=TriggerKind, blank=True)

    author = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    content_hash = models.CharField(max_length=64, blank=True)  # over the canonical form, set on release
    once = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    edition = models.PositiveIntegerField(default=1, editable=False)

    objects = MapVersionQuerySet.as_manager()

    class Meta:
        ordering = ["job", "number"]
        constraints = [
            models.UniqueConstraint(fields=["job", "number"], name="map_number_once_per_job"),
            models.CheckConstraint(
                condition=Q(released_at=None, released_by=None, content_hash="")
                | (Q(released_at__isnull=False, released_by__isnull=False) & ~Q(content_hash="")),
                name="map_released_by_somebody_with_hash",
            ),
        ]

    def __str__(self) -> str:
        return f"version {self.number}"


class ReadBack(RecordedFact):
    """What the unit showed after the ignition was switched off and on, compared with a released version."""

    map_version = models.ForeignKey(MapVersion, models.PROTECT, related_name="read_backs")
    unit = models.ForeignKey(FittedUnit, models.PROTECT, related_name="read_backs")
    shown = models.JSONField()  # position on the key-in sheet: what the unit showed, as typed
    mismatches = models.JSONField(default=list)  # sentences
    clean = models.BooleanField()
    power_cycled = models.BooleanField()

    class Meta:
        ordering = ["made_at"]
        constraints = [
            # An entry that was not stored is lost with the ignition: without the switch-off nothing is proven.
            models.CheckConstraint(
                condition=Q(clean=False) | (Q(mismatches=[]) & Q(power_cycled=True)),
                name="read_back_clean_is_clean",
            ),
        ]
