"""What leaves the workshop on paper: the documents as they were issued, and the customer's link to them."""

import uuid

from django.db import models

from garage.people.models import Staff
from jobs.job.models import Job


class DocumentKind(models.TextChoices):
    CUSTOMER_SHEET = "customer sheet", "customer's sheet"
    BENCH_RECORD = "bench record", "bench record"
    RESTORE_SHEET = "restore sheet", "restore sheet"
    LABEL = "label", "under-bonnet label"


class IssuedDocument(models.Model):
    """A document as it went out: byte for byte, with its hash and the data that made it."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="documents")
    kind = models.CharField(max_length=16, choices=DocumentKind)
    number = models.PositiveSmallIntegerField()
    file = models.FileField(upload_to="documents")
    sha256 = models.CharField(max_length=64)
    made_from = models.JSONField()
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["issued_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["job", "kind", "number"], name="document_number_once"),
        ]


class CustomerLink(models.Model):
    """A link that opens the customer's page without an account. Only its hash is kept."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="customer_links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(Staff, models.PROTECT, related_name="+")
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    # when the customer's page was opened for the first time; no later visit, and nothing about the visitor
    first_opened_at = models.DateTimeField(null=True, blank=True)
    idempotency_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        ordering = ["-made_at"]
