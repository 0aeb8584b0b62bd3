"""The rates of VAT that the owner describes."""

import uuid

from django.db import models
from django.db.models import Q

from garage.quantities.limits import Between

# Sanity only, no law: the highest rate of VAT known to us is 27 % (Hungary; from memory).
HIGHEST_RATE = 50


class VatCategory(models.TextChoices):
    """What kind of rate it is, by the code of the standard for electronic invoices (UNTDID 5305, EN 16931-1 BT-151)."""

    STANDARD = "S", "VAT is charged"
    ZERO = "Z", "zero-rated"
    EXEMPT = "E", "exempt from VAT"


class VatRate(models.Model):
    """A rate of VAT as the owner describes it. A rate that changes is another rate: bills keep the one they had."""

    name = models.CharField(max_length=40)
    percent = models.DecimalField("rate", max_digits=5, decimal_places=2, validators=[Between(0, HIGHEST_RATE, "%")])
    wording = models.CharField("wording on bills", blank=True, max_length=300)
    category = models.CharField(max_length=1, choices=VatCategory, blank=True, default="")
    made_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True, blank=True)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        verbose_name = "VAT rate"
        ordering = ["made_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(percent__gte=0) & Q(percent__lte=HIGHEST_RATE), name="vat_rate_is_a_rate"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.percent.normalize():f}%"
