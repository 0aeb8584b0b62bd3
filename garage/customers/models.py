"""The people whose cars come in."""

import uuid

from django.db import models

from garage.customers.countries import countries, known_country
from garage.lists.numbers import without_separators


class Customer(models.Model):
    """A person or firm whose cars the workshop looks after. No account: they get documents and a link."""

    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True, max_length=500)
    # ISO 3166-1 alpha-2, for electronic invoices
    country = models.CharField(blank=True, max_length=2, validators=[known_country])
    notes = models.TextField(blank=True, max_length=4000)
    no_reminders = models.BooleanField("no reminders", default=False)  # said no to being reminded of a check
    made_at = models.DateTimeField()
    forgotten_at = models.DateTimeField(null=True, blank=True, editable=False)  # the row stays, without a person
    idempotency_key = models.UUIDField(
        default=uuid.uuid4, unique=True, editable=False
    )  # the form that made it, sent twice or not
    row_version = models.PositiveIntegerField(default=1, editable=False)  # counts edits, to notice two people at once

    class Meta:
        ordering = ["name", "pk"]
        indexes = [
            models.Index(fields=["name", "id"], name="customers_by_name", condition=models.Q(forgotten_at=None)),
            models.Index(without_separators("phone"), name="customers_by_bare_phone"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def country_name(self) -> str:
        return countries().get(self.country, self.country)
