"""Check-list templates with revisions, a job's sheet, what was entered on it, and the photographs."""

import uuid

from django.db import models
from django.db.models import Q

from garage.people.models import Staff
from garage.quantities.measure import QUANTITIES
from garage.record.facts import RecordedFact
from jobs.job.models import Job


class SheetKind(models.TextChoices):
    INSPECTION = "inspection", "inspection on arrival"
    FITTING = "fitting", "fitting"


class ChecklistTemplate(models.Model):
    """A check-list the workshop works by. Its items stand in its revisions."""

    name = models.CharField(max_length=80, unique=True)
    kind = models.CharField(max_length=16, choices=SheetKind)
    # the cars it is offered for first, by the same rule as an item's `applies`; none: every car
    suits = models.JSONField(default=dict, blank=True)
    retired = models.BooleanField(default=False)
    # which of the lists that came with Crankmark it began as, under whatever name the workshop keeps it now
    shipped_key = models.SlugField(max_length=60, blank=True, editable=False)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["shipped_key"], condition=~Q(shipped_key=""), name="shipped_list_put_in_once"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class TemplateRevision(models.Model):
    """One edition of a check-list. A draft until published; a published one never changes."""

    template = models.ForeignKey(ChecklistTemplate, models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+", null=True)  # none: came with Crankmark
    made_at = models.DateTimeField()
    published_at = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    shipped_fingerprint = models.CharField(max_length=64, blank=True, editable=False)

    class Meta:
        ordering = ["template", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["template", "number"], name="template_revision_number_once"),
            # Two drafts of one list would each lose the other's changes.
            models.UniqueConstraint(
                fields=["template"], condition=Q(published_at=None), name="one_draft_of_a_template_at_a_time"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.template}, revision {self.number}"


class ItemKind(models.TextChoices):
    TICK = "tick", "tick"
    MEASURE = "measure", "measure"
    CHOICE = "choice", "choice"
    PHOTO = "photo", "photograph"
    TEXT = "text", "short text"
    READING = "reading", "read from the record"


class Correction(models.TextChoices):
    """What is done to a figure before it is held against its limits."""

    NONE = "", "none: as it is read"
    SEA_LEVEL = "sea level", "to sea level, by the workshop's altitude"
    COPPER = "20 °C", "to 20 °C as copper, by the temperature read beside it"
    PER_METRE = "per metre", "per metre, by the length read beside it"
    FROM_IDLE = "from idle", "the change from idle, by the same read at idle"


class ChecklistItem(models.Model):
    """One line of a check-list: what to do or measure, within what, and when it applies."""

    revision = models.ForeignKey(TemplateRevision, models.CASCADE, related_name="items")
    key = models.SlugField(max_length=60)  # the same item in another revision has the same key
    section = models.CharField(max_length=60)
    position = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=ItemKind)
    text = models.CharField(max_length=160)
    help = models.TextField(blank=True)
    caution = models.TextField(blank=True)
    source = models.CharField(max_length=160, blank=True)
    picture = models.CharField(max_length=200, blank=True)  # a stored file's name
    unit = models.CharField(max_length=16, blank=True)  # in which the list is written
    # what a choosable unit is a unit of (garage.quantities.measure); none: read in `unit` and nothing else
    quantity = models.CharField(
        max_length=12,
        blank=True,
        choices=[
            ("", "figures in the one unit"),
            *((key, f"{quantity.label}: {', '.join(quantity.units)}") for key, quantity in QUANTITIES.items()),
        ],
    )
    correction = models.CharField(max_length=12, choices=Correction, blank=True, default=Correction.NONE)
    # limits of the corrected figure, in the canonical unit of the quantity
    low = models.FloatField(null=True, blank=True)
    high = models.FloatField(null=True, blank=True)
    # a figure above this passes, with something to think of: `note_text`
    note_above = models.FloatField(null=True, blank=True)
    note_text = models.CharField(max_length=60, blank=True)
    decimals = models.PositiveSmallIntegerField(default=1)
    choices = models.JSONField(default=list, blank=True)
    good_choices = models.JSONField(default=list, blank=True)  # those within tolerance; none named: all are
    required = models.BooleanField(default=True)
    second_person = models.BooleanField(default=False)
    hold_point = models.BooleanField(default=False)
    # which reader answers a reading, by its key (jobs.checklists.readers): nobody ticks it by hand
    reader = models.SlugField(max_length=40, blank=True, db_index=False)
    # the fact of the car's record that the answer is held against, by its key (jobs.checklists.car_facts)
    car_fact = models.SlugField(max_length=40, blank=True, db_index=False)
    # the item of the inspection sheet that asks the same: its answer is shown here and may be confirmed
    inspection_key = models.SlugField(max_length=60, blank=True, db_index=False)
    # the cars it applies to: a mapping of fact to the values for which it applies, all must hold; none: every car
    applies = models.JSONField(default=dict, blank=True)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["revision", "key"], name="checklist_item_key_once"),
            models.UniqueConstraint(fields=["revision", "position"], name="checklist_item_position_once"),
            models.CheckConstraint(
                condition=Q(low=None) | Q(high=None) | Q(low__lte=models.F("high")),
                name="checklist_item_low_to_high",
            ),
        ]

    def __str__(self) -> str:
        return self.text


class JobSheet(models.Model):
    """The sheet of one job, by the revision it began with."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="sheets")
    kind = models.CharField(max_length=16, choices=SheetKind)
    revision = models.ForeignKey(TemplateRevision, models.PROTECT, related_name="sheets")
    begun_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["job", "kind"], name="one_sheet_a_kind_a_job")]


class Outcome(models.TextChoices):
    DONE = "done", "done"
    NOT_POSSIBLE = "not possible", "not possible"
    LET_PASS = "let pass", "overridden"
    NOTED = "noted", "noted"
    WITHDRAWN = "withdrawn", "undone"


class Entry(RecordedFact):
    """What one person entered for one item at one moment."""

    sheet = models.ForeignKey(JobSheet, models.PROTECT, related_name="entries")
    item = models.ForeignKey(ChecklistItem, models.PROTECT, related_name="entries")
    outcome = models.CharField(max_length=16, choices=Outcome, default=Outcome.DONE)
    measure = models.FloatField(null=True, blank=True)  # in the canonical unit of the item's quantity
    unit = models.CharField(max_length=16, blank=True)  # in which the measure was read
    beside = models.FloatField(null=True, blank=True)  # the temperature or the length of a measure of two figures
    altitude_m = models.FloatField(null=True, blank=True)  # where it was read, if that counts
    choice = models.CharField(max_length=80, blank=True)
    text = models.CharField(max_length=500, blank=True)
    note = models.CharField(max_length=500, blank=True)
    # the entry of the inspection sheet that was found to hold still, and was not measured again
    confirms = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="+")
    # how many plain looks the same tap answered; empty for an item that was answered by itself
    together = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["received_at", "made_at"]
        verbose_name_plural = "entries"
        constraints = [
            # What was not done, or was let pass, is explained to whoever reads the sheet in a year.
            models.CheckConstraint(
                condition=~Q(outcome__in=["not possible", "let pass"]) | ~Q(note=""),
                name="entry_set_aside_with_a_reason",
            ),
        ]


class Confirmation(RecordedFact):
    """A second person who looked at what an entry says, and found it so."""

    entry = models.OneToOneField(Entry, models.PROTECT, related_name="confirmation")
    # Repeats the maker of the entry, so that the database itself can refuse people who confirm their own work.
    first_person = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    # Somebody who works alone looks again after a pause, and says anew what is found; empty for another person.
    own_pause_s = models.PositiveIntegerField("seconds after own entry", null=True, blank=True)
    measure = models.FloatField(null=True, blank=True)
    unit = models.CharField(max_length=20, blank=True)
    beside = models.FloatField(null=True, blank=True)
    choice = models.CharField(max_length=80, blank=True)
    text = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["received_at"]
        constraints = [
            # Never one's own tick again: after twenty minutes or more, with a figure, a choice or words of its own.
            models.CheckConstraint(
                condition=~Q(by=models.F("first_person"))
                | (
                    Q(own_pause_s__isnull=False, own_pause_s__gte=1200)
                    & (Q(measure__isnull=False) | ~Q(choice="") | ~Q(text=""))
                ),
                name="confirmed_by_another_or_read_again",
            ),
        ]


class KeptPhotograph(RecordedFact):
    """A photograph as it is kept, whatever it is of: upright, without location data, of a sensible size."""

    file = models.FileField(upload_to="photographs")
    thumbnail = models.FileField(upload_to="photographs")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)  # of the stored file

    class Meta:
        abstract = True
        ordering = ["received_at", "made_at"]


class Photograph(KeptPhotograph):
    """A photograph of an entry."""

    entry = models.ForeignKey(Entry, models.PROTECT, related_name="photographs")

    class Meta(KeptPhotograph.Meta):
        pass
