"""Map versions, the workshop's named curves, and the read-backs that prove which version is in the car."""

import uuid

from django.db import models
from django.db.models import Q

from garage.people.models import Staff, VacuumUnit
from garage.quantities.limits import Between
from garage.record.facts import RecordedFact
from garage.units.models import FittedUnit, UnitTypeRevision
from garage.vehicles.models import TriggerKind
from jobs.job.models import Job
from jobs.maps.content_hash import FIRST_FORM, content_hash_of
from jobs.maps.stored_map import VacuumScheme, from_columns, from_json
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap


class BoostUnit(models.TextChoices):
    KPA = "kPa", "kPa"
    BAR = "bar", "bar"
    PSI = "psi", "psi"


class RevLimitManner(models.TextChoices):
    SOFT = "soft", "soft: sparks dropped in rotation"
    HARD = "hard", "hard: all sparks dropped"


class CurvePattern(models.Model):
    """A map the workshop keeps under a name of its own, to start other cars from."""

    name = models.CharField(max_length=60, unique=True)
    suits = models.CharField("suits", max_length=300, blank=True)  # for which engines, in the workshop's words
    form = models.JSONField()  # as `jobs.maps.stored_map` writes it
    kept_from = models.ForeignKey("MapVersion", models.PROTECT, null=True, blank=True, related_name="kept_as")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    retired = models.BooleanField(default=False)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def ignition_map(self) -> IgnitionMap:
        return from_json(self.form)


CHANGED_OUTSIDE = "was changed outside Crankmark: its checksum does not match"


class MapVersionQuerySet(models.QuerySet["MapVersion"]):
    def drafts(self) -> "MapVersionQuerySet":
        return self.filter(released_at__isnull=True, set_aside_at__isnull=True)

    def released(self) -> "MapVersionQuerySet":
        return self.filter(released_at__isnull=False)

    def with_people(self) -> "MapVersionQuerySet":
        return self.select_related("author", "changed_by", "released_by", "unit_revision__unit_type", "parent")


class MapVersion(models.Model):
    """One version of a job's map, as it was set. A draft may change, a released version never does."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="map_versions")
    number = models.PositiveSmallIntegerField()
    parent = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="children")
    origin = models.CharField(max_length=200)  # where the start values came from, in words
    copied_from = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="copies"
    )  # another car's
    pattern = models.ForeignKey(CurvePattern, models.PROTECT, null=True, blank=True, related_name="versions")
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
    boost_unit = models.CharField(max_length=8, choices=BoostUnit, default=BoostUnit.KPA)  # as it was entered
    boost = models.JSONField(default=list, blank=True)  # rows of [kPa above atmosphere, degrees of retard]
    dwell_ms = models.FloatField("dwell", null=True, blank=True, validators=[Between(0.3, 20, "ms")])
    rev_limit_rpm = models.FloatField("rev limit", null=True, blank=True, validators=[Between(1000, 15000, "rpm")])
    rev_limit_manner = models.CharField(max_length=8, choices=RevLimitManner, blank=True)
    repeated_sparks = models.BooleanField("repeated sparks while cranking", default=False)
    trigger = models.CharField("trigger", max_length=16, choices=TriggerKind, blank=True)

    author = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    changed_at = models.DateTimeField(null=True, blank=True)
    changed_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    set_aside_at = models.DateTimeField(null=True, blank=True)  # a draft nobody will go on with
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    # what the unit delivers of it: kept on release, so that the sheet of an old version never depends on how a map is
    # fitted today
    delivered = models.JSONField(null=True, blank=True)
    content_hash = models.CharField(max_length=64, blank=True)  # set on release
    content_hash_form = models.PositiveSmallIntegerField(null=True, blank=True)  # null: the first
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)

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
            models.CheckConstraint(
                condition=Q(released_at=None) | Q(set_aside_at=None),
                name="map_set_aside_or_released",
            ),
        ]

    def __str__(self) -> str:
        return f"version {self.number}"

    @property
    def damage(self) -> str:
        """What is said of a version whose content hash does not match any more."""
        return f"Version {self.number} {CHANGED_OUTSIDE}."

    @property
    def is_draft(self) -> bool:
        return self.released_at is None and self.set_aside_at is None

    def ignition_map(self) -> IgnitionMap:
        """The map as it was set, for `timing`."""
        return from_columns({name: getattr(self, name) for name in SETTINGS})

    def delivered_map(self) -> IgnitionMap:
        """What the unit delivers of a released version."""
        return from_json(self.delivered or {})

    def is_sound(self) -> bool:
        """Whether a released version is what its content hash was made of: asked at every reading of it."""
        try:
            return self.content_hash == content_hash_of(
                target=self.ignition_map(),
                delivered=self.delivered_map(),
                revision=self.unit_revision,
                form=self.content_hash_form or FIRST_FORM,
            )
        except (TimingError, LookupError, TypeError):
            return False

    def can_be_relied_on(self) -> bool:
        """Whether its figures are what somebody here wrote: a draft's always, a released one's by its hash."""
        return self.released_at is None or self.is_sound()


# The columns that make up the map itself, in the order in which people speak of them.
SETTINGS = (
    "base_deg",
    "curve",
    "vacuum_scheme",
    "vacuum_unit",
    "vacuum_start_kpa",
    "vacuum_full_kpa",
    "vacuum_full_deg",
    "vacuum_from_rpm",
    "vacuum_table",
    "boost_unit",
    "boost",
    "dwell_ms",
    "rev_limit_rpm",
    "rev_limit_manner",
    "repeated_sparks",
    "trigger",
)


class ReadBack(RecordedFact):
    """What the unit showed after the ignition was switched off and on, compared with a released version."""

    map_version = models.ForeignKey(MapVersion, models.PROTECT, related_name="read_backs")
    unit = models.ForeignKey(FittedUnit, models.PROTECT, related_name="read_backs")
    shown = models.JSONField()  # position on the key-in sheet: what the unit showed, as typed
    mismatches = models.JSONField(default=list)  # sentences
    clean = models.BooleanField()  # type: ignore[assignment]  # no method here is called clean
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
