"""The job on one car: its stages, its journal, and the gates it went through."""

import uuid

from django.db import models
from django.db.models import Q

from garage.people.models import Device, Staff
from garage.quantities.limits import Between
from garage.record.models import TrailEntry
from garage.record.queries import trail_of_job
from garage.rota.models import Bay
from garage.units.models import FittedUnit
from garage.vehicles.models import Vehicle


class Stage(models.TextChoices):
    """The stages in their order. The value is also the last part of the stage page's address."""

    BOOKED = "booked", "booked"
    INSPECTION = "inspection", "inspection"
    FITTING = "fitting", "fitting"
    BASE_TIMING = "base-timing", "base timing"
    MAP = "map", "map"
    ROAD_TEST = "road-test", "road test"
    HANDOVER = "handover", "handover"
    AFTER_CARE = "after-care", "after-care"


STAGES = list(Stage)


class JobKind(models.TextChoices):
    CONVERSION = "conversion", "full conversion"
    UNIT_AND_MAP = "unit and map", "unit and map"
    SETTINGS = "settings", "settings"
    CHECK = "check", "check"
    UNIT_REPLACED = "unit replaced", "unit replaced"


# Which stages a car goes through, in the order of `STAGES`. A check and a replaced unit start from what an earlier job
# left in the car, settings from what another workshop left in it. All end with the same proof as a conversion: read
# back, the final check, a second look. A sheet with the hold points that keep people and engines whole is in each.
STAGES_OF: dict[str, list[Stage]] = {
    JobKind.CONVERSION: STAGES,
    JobKind.UNIT_AND_MAP: [stage for stage in STAGES if stage != Stage.INSPECTION],
    JobKind.SETTINGS: [stage for stage in STAGES if stage != Stage.FITTING],
    JobKind.CHECK: [Stage.BOOKED, Stage.INSPECTION, Stage.MAP, Stage.HANDOVER, Stage.AFTER_CARE],
    JobKind.UNIT_REPLACED: [
        Stage.BOOKED,
        Stage.FITTING,
        Stage.BASE_TIMING,
        Stage.MAP,
        Stage.HANDOVER,
        Stage.AFTER_CARE,
    ],
}


class JobState(models.TextChoices):
    OPEN = "open", "open"
    ON_HOLD = "on hold", "on hold"
    ABANDONED = "abandoned", "abandoned"


class JobSerial(models.Model):
    """The last serial given out in a year: one row a year, raised in the transaction that makes the job, so no gaps."""

    year = models.PositiveSmallIntegerField(primary_key=True)
    last = models.PositiveIntegerField(default=0)


class JobQuerySet(models.QuerySet["Job"]):
    def open(self) -> "JobQuerySet":
        return self.filter(state=JobState.OPEN)

    def with_car(self) -> "JobQuerySet":
        return self.select_related(
            "vehicle__customer",
            "vehicle__engine",
            "vehicle__distributor",
            "vehicle__coil",
            "unit__revision__unit_type",
        )


class Job(models.Model):
    """One car, from booking to after-care."""

    code = models.CharField(max_length=12, unique=True, editable=False)  # year and serial, such as 26-0042
    vehicle = models.ForeignKey(Vehicle, models.PROTECT, related_name="jobs")
    unit = models.ForeignKey(FittedUnit, models.PROTECT, null=True, blank=True, related_name="jobs")
    kind = models.CharField("kind of job", max_length=16, choices=JobKind, default=JobKind.CONVERSION)
    wanted = models.TextField("work required", max_length=2000)
    complaint = models.TextField("fault reported", blank=True, max_length=2000)
    booked_for = models.DateField(null=True, blank=True)
    promised_for = models.DateField(null=True, blank=True)
    mechanic = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    bay = models.ForeignKey(Bay, models.PROTECT, null=True, blank=True, related_name="+")
    odometer = models.PositiveIntegerField(
        "odometer on arrival", null=True, blank=True, validators=[Between(0, 2_000_000)]
    )
    odometer_unit = models.CharField(max_length=5, choices=[("km", "km"), ("miles", "miles")], default="miles")
    stage = models.CharField(max_length=16, choices=Stage, default=Stage.BOOKED)
    state = models.CharField(max_length=16, choices=JobState, default=JobState.OPEN)
    state_reason = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["-code"]
        indexes = [models.Index(fields=["state", "stage"], name="jobs_by_where_they_stand")]
        constraints = [
            # Whoever puts a car aside says why.
            models.CheckConstraint(condition=Q(state="open") | ~Q(state_reason=""), name="job_put_aside_with_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.vehicle}"

    @property
    def journal(self) -> models.QuerySet[TrailEntry]:
        """What happened on this job, in order."""
        return trail_of_job(self.pk)

    @property
    def stages(self) -> list[Stage]:
        """The stages of a job of this kind, in order."""
        return STAGES_OF[self.kind]

    def following(self, stage: Stage) -> Stage | None:
        """The stage after `stage` in a job of this kind; None after the last."""
        place = self.stages.index(stage) + 1
        return self.stages[place] if place < len(self.stages) else None

    @property
    def next_stage(self) -> Stage | None:
        return self.following(Stage(self.stage))


class GateCrossing(models.Model):
    """A car going from one stage to the next; with what was still missing, if the owner let it pass, and why."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="crossings")
    left = models.CharField(max_length=16, choices=Stage)
    entered = models.CharField(max_length=16, choices=Stage)
    missing = models.JSONField(default=list)
    reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(missing=[]) | ~Q(reason=""), name="gate_passed_unmet_with_reason"),
        ]
        # Read from its end, it gives the last handovers: asked for at every opening of the map bench.
        indexes = [models.Index(fields=["entered", "at", "job"], name="gates_passed_in_order")]


class CautionRead(models.Model):
    """On this day this person has read a caution at this job: for the rest of the day its name is enough."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="cautions_read")
    person = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    day = models.DateField()
    title = models.CharField(max_length=40)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["job", "person", "day", "title"], name="a_caution_read_once_a_day")
        ]


class JournalLine(models.Model):
    """The journal as releases before the trail wrote it. Nothing is added: its lines stand in the trail as well."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    device = models.ForeignKey(Device, models.PROTECT, null=True, related_name="+")
    stage = models.CharField(max_length=16, choices=Stage)
    kind = models.SlugField(max_length=40)
    sentence = models.TextField()
    figures = models.JSONField(default=dict)
    # the form that wrote a free note, sent twice or not; lines of actions are guarded by the action
    idempotency_key = models.UUIDField(null=True, unique=True, editable=False)

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["job", "at"], name="journal_of_a_job_in_order")]

    def __str__(self) -> str:
        return self.sentence
