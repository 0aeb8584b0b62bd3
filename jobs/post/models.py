"""Mail to customers as it was put in, its papers, and everything that came of it; and the owner's texts."""

import uuid

from django.db import models
from django.db.models import Q

from garage.people.models import Staff
from garage.record.facts import RecordedFact
from jobs.job.models import Job


class MailKind(models.TextChoices):
    """What a mail is about."""

    PAPERS = "papers", "papers of the car"
    QUOTE = "quote", "quote"
    BILL = "bill", "bill"
    REMINDER = "reminder", "reminder"


class MailText(models.Model):
    """The text with which a mail of a kind begins, as the owner wrote it. Names in braces stand for what differs."""

    kind = models.CharField(max_length=12, choices=MailKind, unique=True)
    subject_line = models.CharField("subject", max_length=150)
    text = models.TextField(max_length=4000)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    def __str__(self) -> str:
        return f"mail text: {self.get_kind_display()}"


class Mail(models.Model):
    """One mail to a customer, as somebody put it in. What came of it stands in its steps."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="mails")
    kind = models.CharField(max_length=12, choices=MailKind)
    what = models.CharField(max_length=160)  # in words: "customer's sheet no. 2, restore sheet no. 1"
    # In whose trail it stands, as the trail itself names things: the job's journal, or that of a quote or a bill.
    subject_kind = models.CharField(max_length=20)
    subject_id = models.PositiveBigIntegerField()
    address = models.EmailField()
    subject_line = models.CharField("subject", max_length=150)
    text = models.TextField(max_length=6000)
    message_id = models.CharField(max_length=320)
    put_in_at = models.DateTimeField()
    put_in_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["-put_in_at", "-pk"]
        indexes = [models.Index(fields=["subject_kind", "subject_id"], name="mails_about_one_thing")]

    def __str__(self) -> str:
        return self.what


class MailAttachment(models.Model):
    """A paper that goes along: which stored file, and the hash it was issued with."""

    mail = models.ForeignKey(Mail, models.PROTECT, related_name="attachments")
    file_name = models.CharField(max_length=120)
    stored_as = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.file_name


class StepKind(models.TextChoices):
    BEGUN = "begun", "begun"
    SENT = "sent", "sent"
    PUT_OFF = "put off", "not taken, tried again later"
    REFUSED = "refused", "refused"
    GIVEN_UP = "given up", "given up after a day"
    CUT_OFF = "cut off", "cut off"
    ASKED_AGAIN = "asked again", "tried again"
    BY_HAND = "by hand", "sent by hand"
    STOPPED = "stopped", "stopped"


FAILURES = (StepKind.REFUSED, StepKind.GIVEN_UP)


class MailStep(RecordedFact):
    """What happened to a mail: a try begun, and what came of it; or what somebody decided."""

    mail = models.ForeignKey(Mail, models.PROTECT, related_name="steps")
    # in the order of the steps: a clock that goes back does not change what came last
    place = models.PositiveSmallIntegerField()
    number = models.PositiveSmallIntegerField()  # of the try; 0 before the first
    kind = models.CharField(max_length=12, choices=StepKind)
    sentence = models.CharField(max_length=300, blank=True)
    answer = models.CharField(max_length=300, blank=True)  # the server's own
    again_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["place"]
        # what failed, few of all, is asked for by the first page
        indexes = [models.Index(fields=["kind", "mail"], name="mail_steps_by_kind")]
        constraints = [
            models.UniqueConstraint(fields=["mail", "place"], name="mail_step_place_once"),
            models.CheckConstraint(
                condition=Q(kind="put off", again_at__isnull=False) | ~Q(kind="put off") & Q(again_at=None),
                name="mail_put_off_says_until_when",
            ),
        ]
