"""Quotes and supplements as they were sent, and what the customer answered."""

import uuid

from django.db import models
from django.db.models import Q

from garage.people.models import Device, Staff
from garage.pricelist.models import PricedPart
from garage.quantities.limits import Between
from jobs.costs.models import CostKind
from jobs.documents.models import CustomerLink
from jobs.job.models import Job, JobKind
from jobs.vat.models import VatRate


class UsualPart(models.Model):
    """A part of the price list that a job of a kind usually takes, and how many."""

    kind = models.CharField("kind of job", max_length=16, choices=JobKind)
    part = models.ForeignKey(PricedPart, models.PROTECT, related_name="+")
    quantity = models.DecimalField(max_digits=6, decimal_places=2, validators=[Between(0, 1000)])

    class Meta:
        ordering = ["kind", "part__name", "pk"]
        constraints = [models.UniqueConstraint(fields=["kind", "part"], name="usual_part_of_a_kind_once")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.quantity.normalize():f} × {self.part}"


class QuoteSerial(models.Model):
    """The last serial given out in a year. A quote that fails may leave a gap: unlike a bill's, nobody counts them."""

    year = models.PositiveSmallIntegerField(primary_key=True)
    last = models.PositiveIntegerField(default=0)


class QuoteKind(models.TextChoices):
    QUOTE = "quote", "quote"
    SUPPLEMENT = "supplement", "supplement"


class Quote(models.Model):
    """One version of a quote, or of a supplement to it: as it was sent, byte for byte, and never changed."""

    kind = models.CharField(max_length=12, choices=QuoteKind)
    year = models.PositiveSmallIntegerField()
    serial = models.PositiveIntegerField()
    number = models.CharField(max_length=32)  # without its version
    version = models.PositiveSmallIntegerField()
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")
    job = models.ForeignKey(Job, models.PROTECT, related_name="quotes")
    reason = models.CharField(blank=True, max_length=300)  # of a supplement: what was found
    buyer_name = models.CharField("customer", max_length=120)
    buyer_address = models.TextField("address", blank=True, max_length=500)
    remarks = models.TextField(blank=True, max_length=1000)
    issued_on = models.DateField()
    valid_until = models.DateField()
    currency = models.CharField(max_length=3)
    net = models.DecimalField(max_digits=12, decimal_places=2)
    vat = models.DecimalField(max_digits=12, decimal_places=2)
    gross = models.DecimalField(max_digits=12, decimal_places=2)
    made_from = models.JSONField()
    file = models.FileField(upload_to="quotes")
    sha256 = models.CharField(max_length=64)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["-issued_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["number", "version"], name="quote_version_once"),
            models.CheckConstraint(condition=Q(kind="quote") | ~Q(reason=""), name="supplement_says_why"),
            models.CheckConstraint(
                condition=Q(version=1, replaces=None) | Q(version__gt=1, replaces__isnull=False),
                name="quote_version_replaces_another",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.name}"

    @property
    def name(self) -> str:
        """Its number, with the version from the second on."""
        return self.number if self.version == 1 else f"{self.number} version {self.version}"

    @property
    def photographs(self) -> list[dict[str, str]]:
        """The photographs it shows, as `jobs.documents.pictures` tells of them; none once it was erased."""
        shown: list[dict[str, str]] = (self.made_from or {}).get("photographs", [])
        return shown


class QuoteLine(models.Model):
    """A line as the quote has it."""

    quote = models.ForeignKey(Quote, models.PROTECT, related_name="lines")
    place = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=8, choices=CostKind)
    description = models.CharField(max_length=160)
    quantity = models.DecimalField(max_digits=8, decimal_places=2)
    unit_price = models.DecimalField(max_digits=10, decimal_places=2)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    rate = models.ForeignKey(VatRate, models.PROTECT, related_name="+")
    percent = models.DecimalField(max_digits=5, decimal_places=2)

    class Meta:
        ordering = ["quote", "place"]
        constraints = [models.UniqueConstraint(fields=["quote", "place"], name="quote_line_place_once")]


class AnswerKind(models.TextChoices):
    ACCEPTED = "accepted", "accepted"
    REFUSED = "refused", "refused"


class AnsweredBy(models.TextChoices):
    LINK = "link", "on the customer's link"
    PAPER = "paper", "on paper"
    EMAIL = "email", "by email"
    PHONE = "phone", "by phone"
    IN_PERSON = "in person", "in person"


class QuoteAnswer(models.Model):
    """The customer's yes or no to one version: one, and for ever."""

    quote = models.OneToOneField(Quote, models.PROTECT, related_name="answer")
    kind = models.CharField(max_length=12, choices=AnswerKind)
    way = models.CharField(max_length=12, choices=AnsweredBy)
    name = models.CharField("name of the customer", max_length=120)  # typed by them, or told by the office
    words = models.CharField(blank=True, max_length=500)
    answered_on = models.DateField()
    received_at = models.DateTimeField()
    recorded_by = models.ForeignKey(Staff, models.PROTECT, null=True, blank=True, related_name="+")
    link = models.ForeignKey(CustomerLink, models.PROTECT, null=True, blank=True, related_name="+")
    device = models.ForeignKey(Device, models.PROTECT, null=True, blank=True, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["received_at", "pk"]
        constraints = [
            # the customer alone on the link; otherwise somebody of the workshop who says so
            models.CheckConstraint(
                condition=Q(way="link", link__isnull=False, recorded_by=None)
                | ~Q(way="link") & Q(link=None, recorded_by__isnull=False),
                name="quote_answer_from_link_or_by_staff",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.get_way_display()} by {self.name}"


class LinkTry(models.Model):
    """That something was sent from a customer's link: so many in a quarter of an hour, and no more."""

    link = models.ForeignKey(CustomerLink, models.CASCADE, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["link", "at"], name="tries_of_a_link")]
