"""Reminders of a check: the text the owner wrote, and who was reminded of which due day."""

import uuid

from django.db import models

from garage.people.models import Staff
from jobs.job.models import Job
from jobs.post.models import Mail


class ReminderText(models.Model):
    """The text of a reminder as the owner wrote it: one row. Names in braces stand for what differs from car to car."""

    text = models.TextField(max_length=4000)
    row_version = models.PositiveIntegerField(default=1, editable=False)
    # One row and no more: the only value the constraint allows, made unique.
    only = models.PositiveSmallIntegerField(default=1, unique=True, editable=False)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(only=1), name="one_reminder_text")]

    def __str__(self) -> str:
        return "text of the reminder"


class ReminderBatch(models.Model):
    """Letters that were printed together, or mails that were sent together."""

    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["-made_at"]

    @property
    def job_keys(self) -> set[int]:
        """The jobs it reminded of, by primary key."""
        return set(self.reminders.values_list("job_id", flat=True))


class Channel(models.TextChoices):
    """How a reminder goes out."""

    LETTER = "letter", "letter"
    MAIL = "mail", "email"


class Reminder(models.Model):
    """A customer was reminded that a car is due on a day: of each day once, by whichever way."""

    batch = models.ForeignKey(ReminderBatch, models.PROTECT, related_name="reminders")
    job = models.ForeignKey(Job, models.PROTECT, related_name="reminders")
    due_on = models.DateField()
    channel = models.CharField(max_length=8, choices=Channel, default=Channel.LETTER)
    text = models.TextField()
    mail = models.OneToOneField(Mail, models.PROTECT, null=True, blank=True, related_name="reminder")

    class Meta:
        ordering = ["batch_id", "job__code"]
        constraints = [
            models.UniqueConstraint(fields=["job", "due_on"], name="reminded_once_of_a_due_day"),
            models.CheckConstraint(
                condition=models.Q(channel="letter", mail=None) | models.Q(channel="mail", mail__isnull=False),
                name="reminder_by_mail_has_its_mail",
            ),
        ]
