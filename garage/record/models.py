"""The trail: who did what to what, when and from where, with the old and the new value. Kept for ever."""

from typing import Any

from django.db import models

from garage.record.events import Event


class TrailEntry(models.Model):
    """One event. The journal of a job and the changes of a car, a person or the workshop are views of these.

    The record stands below the jobs and knows none: what an entry is about is named by the kind and id of a row, and
    the job it belongs to by its id alone.
    """

    at = models.DateTimeField()
    by = models.ForeignKey("garage.Staff", models.PROTECT, related_name="+")
    device = models.ForeignKey("garage.Device", models.PROTECT, null=True, related_name="+")
    event = models.CharField(max_length=40, default=Event.CHANGED)
    subject_kind = models.CharField(max_length=20)  # the model's name, such as 'vehicle'
    subject_id = models.PositiveBigIntegerField()
    job_id = models.PositiveBigIntegerField(null=True)
    stage = models.CharField(max_length=16, blank=True)
    sentence = models.TextField(blank=True)  # what a person reads in a year
    changes = models.JSONField(default=list)  # [{"label": "compression ratio", "before": "8.8", "after": "9"}]
    figures = models.JSONField(default=dict)  # plain values, for whoever asks by program
    # the form that wrote a free note, sent twice or not; entries of actions are guarded by the action
    idempotency_key = models.UUIDField(null=True, unique=True, editable=False)

    class Meta:
        db_table = "garage_change"
        ordering = ["at", "pk"]
        indexes = [
            models.Index(fields=["subject_kind", "subject_id"], name="changes_of_one_thing"),
            models.Index(fields=["job_id", "at"], name="trail_of_a_job_in_order"),
        ]

    def __str__(self) -> str:
        return self.text

    @property
    def text(self) -> str:
        """What a line of a journal says."""
        return self.sentence or changes_in_words(self.changes)


class OpenErasing(models.Model):
    """While a person is being erased, its one row; never in a committed database (`garage.record.erasing`)."""

    never_there = models.ForeignKey("self", models.DO_NOTHING, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="open_erasing_is_one_row"),
            models.CheckConstraint(condition=models.Q(never_there=2), name="open_erasing_is_never_committed"),
        ]


def changes_in_words(changes: list[dict[str, Any]]) -> str:
    """Old and new values as a person reads them: 'red line: 6000 → 6200'."""
    return "; ".join(f"{row['label']}: {row['before'] or 'nothing'} → {row['after'] or 'nothing'}" for row in changes)


def kind_of(subject: models.Model) -> str:
    """The name under which the entries about `subject` are kept."""
    return str(subject._meta.model_name)
