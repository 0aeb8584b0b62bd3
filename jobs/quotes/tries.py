"""How often something may be sent from a customer's link. No part of the record: a try is forgotten after a day."""

from datetime import datetime, timedelta

from jobs.documents.models import CustomerLink
from jobs.quotes.actions import QuoteRefusedError
from jobs.quotes.models import LinkTry

# More than that is no customer thinking it over: common practice, no source.
TRIES = 10
WITHIN = timedelta(minutes=15)


class TooManyTriesError(QuoteRefusedError):
    """Too much was sent from one link in a short time."""


def count_try(link: CustomerLink, at: datetime) -> None:
    """Count that something was sent from `link`. Outside any transaction, so that a refusal does not undo it.

    Raises
    ------
    TooManyTriesError
        If that was too much within a quarter of an hour.
    """
    LinkTry.objects.filter(link=link, at__lt=at - timedelta(days=1)).delete()
    if LinkTry.objects.filter(link=link, at__gt=at - WITHIN).count() >= TRIES:
        raise TooManyTriesError("Too many tries. Wait a quarter of an hour, or ring the workshop.")
    LinkTry.objects.create(link=link, at=at)
