"""The photographs of a supplement: chosen by the office, and shown to the customer on the link and nowhere else."""

from django.http import Http404
from django.urls import reverse
from django.utils.html import format_html

from garage.record.plain import Plain
from jobs.checklists.models import KeptPhotograph
from jobs.documents.pictures import AT_BOOKING, photograph_told_of
from jobs.quotes.models import Quote


def with_small_picture(told: Plain) -> str:
    """What a photograph is of, beside the photograph in small: for people of the workshop."""
    name = "booking:photograph-small" if told["of"] == AT_BOOKING else "checklists:photograph-small"
    return format_html(
        '<img class="small-picture" src="{}" alt="" loading="lazy" width="72" height="72"> {}',
        reverse(name, args=[told["id"]]),
        told["what"],
    )


def photograph_of(quote: Quote, number: int) -> KeptPhotograph:
    """Photograph `number` of a supplement, counted from one; a 404 for any other, and for one that is gone."""
    shown = quote.photographs
    if not 1 <= number <= len(shown):
        raise Http404
    found = photograph_told_of(shown[number - 1])
    if found is None:
        raise Http404
    return found
