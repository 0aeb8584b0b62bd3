"""What every page behind a customer's link does, and what rooms above this one show there of their own."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.utils import timezone

from jobs.documents.actions import hash_of
from jobs.documents.models import CustomerLink
from jobs.documents.queries import open_link
from jobs.job.models import Job


@dataclass(frozen=True, slots=True)
class LinkSection:
    """A part of the customer's page: its template, and what of a job it shows. Nothing, where that is empty."""

    template: str
    of_job: Callable[[Job], Mapping[str, Any]]


# Filled by `install` when Django starts: this room knows none of those above it.
_sections: list[LinkSection] = []


def install(*sections: LinkSection) -> None:
    """Name the sections of the customer's page, in their order."""
    _sections[:] = sections


def sections_of(job: Job) -> list[dict[str, Any]]:
    """The sections that have something to show, each with its template."""
    found = [(section.template, section.of_job(job)) for section in _sections]
    return [{"template": template, **shown} for template, shown in found if shown]


def opened(token: str) -> CustomerLink:
    """The link that `token` opens, or a 404 that says nothing about why."""
    link = open_link(hash_of(token), timezone.now())
    if link is None:
        raise Http404
    return link


def for_the_customer(answer: HttpResponse, *, has_form: bool = False) -> HttpResponse:
    """`answer` so that its address, which opens the page, goes nowhere else.

    A page with a form names its origin to this site alone: without, a browser sends the form as coming from nowhere,
    and the guard against forged forms refuses it.
    """
    answer["Referrer-Policy"] = "same-origin" if has_form else "no-referrer"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    return answer


def paper_for_the_customer(made: bytes, name: str) -> HttpResponse:
    """A PDF of the customer's, kept by nobody on the way."""
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    answer["Cache-Control"] = "private, no-store"
    return for_the_customer(answer)
