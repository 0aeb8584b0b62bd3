"""Bills and credit notes as they were issued, their lines, and what was paid on them."""

import uuid
from decimal import Decimal

from django.db import models
from django.db.models import Q

from garage.people.models import Staff
from garage.record.facts import WithdrawableFact
from jobs.costs.models import CostLine
from jobs.job.models import Job
from jobs.vat.models import VatRate


class BillSerial(models.Model):
    """The last serial given out in a row of numbers: locked while a bill is issued, so no gap and no double."""

    series = models.PositiveSmallIntegerField(primary_key=True)  # the year, or 0 for numbers that run on
    last = models.PositiveIntegerField(default=0)


class BillKind(models.TextChoices):
    BILL = "bill", "bill"
    CREDIT_NOTE = "credit note", "credit note"


class Bill(models.Model):
    """A bill, or a credit note on one: as it went out, byte for byte, and never changed.

    A credit note has its number from the same row, and amounts that are as positive as those it takes back.
    """

    kind = models.CharField(max_length=12, choices=BillKind)
    number = models.CharField(max_length=32, unique=True)
    series = models.PositiveSmallIntegerField()
    serial = models.PositiveIntegerField()
    job = models.ForeignKey(Job, models.PROTECT, related_name="bills")
    credits = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="credit_notes")
    buyer_name = models.CharField("customer", max_length=120)
    buyer_address = models.TextField("address", blank=True, max_length=500)
    remarks = models.TextField(blank=True, max_length=1000)  # of a credit note: why
    issued_on = models.DateField()
    supplied_on = models.DateField()
    due_on = models.DateField(null=True, blank=True)
    currency = models.CharField(max_length=3)
    net = models.DecimalField(max_digits=12, decimal_places=2)
    vat = models.DecimalField(max_digits=12, decimal_places=2)
    gross = models.DecimalField(max_digits=12, decimal_places=2)
    made_from = models.JSONField()
    file = models.FileField(upload_to="bills")
    sha256 = models.CharField(max_length=64)
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["-issued_at", "-pk"]
        indexes = [
            models.Index(fields=["issued_at", "id"], name="bills_in_order"),
            models.Index(fields=["due_on", "id"], name="bills_by_day_due"),
            models.Index(fields=["issued_on"], name="bills_by_day_issued"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["series", "serial"], name="bill_serial_once"),
            models.CheckConstraint(
                condition=Q(kind="bill", credits=None, due_on__isnull=False)
                | Q(kind="credit note", credits__isnull=False, due_on=None) & ~Q(remarks=""),
                name="credit_note_says_of_what_and_why",
            ),
            models.CheckConstraint(condition=Q(serial__gte=1), name="bill_serial_begins_at_one"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"


class BillLine(models.Model):
    """A line as the bill has it: a copy, which nothing that happens to hours and parts later changes."""

    bill = models.ForeignKey(Bill, models.PROTECT, related_name="lines")
    place = models.PositiveSmallIntegerField()
    cost_line = models.ForeignKey(CostLine, models.PROTECT, related_name="billed")
    # on a credit note: the line that it takes back, whole and once
    credits = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="credited")
    description = models.CharField(max_length=160)
    quantity = models.DecimalField(max_digits=8, decimal_places=2)
    unit_price = models.DecimalField(max_digits=10, decimal_places=2)
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    rate = models.ForeignKey(VatRate, models.PROTECT, related_name="+")
    percent = models.DecimalField(max_digits=5, decimal_places=2)

    class Meta:
        ordering = ["bill", "place"]
        constraints = [models.UniqueConstraint(fields=["bill", "place"], name="bill_line_place_once")]


class BillRateSum(models.Model):
    """What the lines of one rate come to on a bill, and the VAT on it, as the paper has them."""

    bill = models.ForeignKey(Bill, models.PROTECT, related_name="rate_sums")
    rate = models.ForeignKey(VatRate, models.PROTECT, related_name="+")
    percent = models.DecimalField(max_digits=5, decimal_places=2)
    net = models.DecimalField(max_digits=12, decimal_places=2)
    vat = models.DecimalField(max_digits=12, decimal_places=2)

    class Meta:
        ordering = ["bill", "pk"]
        constraints = [models.UniqueConstraint(fields=["bill", "rate"], name="bill_rate_sum_once")]

    @property
    def name(self) -> str:
        return self.rate.name


class PaidBy(models.TextChoices):
    TRANSFER = "transfer", "bank transfer"
    CARD = "card", "card"
    CASH = "cash", "cash"
    CHEQUE = "cheque", "cheque"
    OTHER = "other", "other"


class Payment(WithdrawableFact):
    """Money that came in on a bill, or went back to the customer."""

    bill = models.ForeignKey(Bill, models.PROTECT, related_name="payments")
    amount = models.DecimalField(max_digits=12, decimal_places=2)
    refund = models.BooleanField(default=False)
    paid_on = models.DateField()
    paid_by = models.CharField(max_length=12, choices=PaidBy)
    note = models.CharField(blank=True, max_length=160)

    class Meta:
        ordering = ["paid_on", "made_at"]
        constraints = [models.CheckConstraint(condition=Q(amount__gt=Decimal(0)), name="payment_is_of_something")]
