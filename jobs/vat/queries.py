"""Which rates of VAT may be used now."""

from django.db.models import QuerySet

from jobs.vat.models import VatRate


def rates_in_use() -> QuerySet[VatRate]:
    """The rates that may be put on a bill, the usual one first: the one that was added first."""
    return VatRate.objects.filter(retired_at=None)
