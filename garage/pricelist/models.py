"""The short list of parts that the workshop sells again and again, with their prices."""

import uuid

from django.db import models


class PricedPart(models.Model):
    """A part with its price before VAT. What was sold keeps the price it had."""

    name = models.CharField(max_length=120)
    part_number = models.CharField(max_length=40, blank=True)
    unit_price = models.DecimalField(max_digits=10, decimal_places=2)
    offered = models.BooleanField("on the price list", default=True)
    counted = models.BooleanField("counted in stock", default=False)
    low_mark = models.DecimalField("low at", max_digits=8, decimal_places=2, null=True, blank=True)
    made_at = models.DateTimeField()
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    row_version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return f"{self.name} ({self.part_number})" if self.part_number else self.name
