"""A customer's own quotes, on their link: read, accepted or refused there."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from garage.files.issued import PaperDamagedError, PaperErasedError
from garage.people.queries import get_workshop
from garage.record.actor import Actor
from garage.record.refusals import RuleRefusedError
from jobs.checklists.models import KeptPhotograph
from jobs.checklists.serving import as_picture
from jobs.checklists.stored import PhotographDamagedError, stored_photograph, stored_thumbnail
from jobs.documents.link_pages import LinkSection, for_the_customer, opened, paper_for_the_customer
from jobs.job.models import Job
from jobs.quotes import queries
from jobs.quotes.answer_actions import answer_on_link
from jobs.quotes.forms import CustomerAnswerForm
from jobs.quotes.models import AnswerKind
from jobs.quotes.photographs import photograph_of
from jobs.quotes.tries import TooManyTriesError, count_try


def quotes_of(job: Job) -> dict[str, Any]:
    """The quotes and supplements that were not replaced, and whose papers are there."""
    shown = [one for one in queries.quotes_of(job) if one.state != "replaced" and one.quote.file]
    return {"quotes": shown} if shown else {}


QUOTES_OF_THE_CUSTOMER = LinkSection("jobs/quotes/_quotes_of_customer.html", quotes_of)


@login_not_required
@never_cache
@require_http_methods(["GET", "POST"])
def quote(request: HttpRequest, token: str, pk: int) -> HttpResponse:
    """One quote with its lines, and the customer's answer to it."""
    link = opened(token)
    found = get_object_or_404(link.job.quotes.exclude(file=""), pk=pk)
    form, status = CustomerAnswerForm(request.POST or None), 200
    if request.method == "POST":
        actor, status = Actor(person=link.made_by, at=timezone.now()), 422
        try:
            count_try(link, actor.at)
            if form.is_valid():
                typed = form.cleaned_data
                answer_on_link(
                    link=link,
                    quote=found,
                    kind=AnswerKind(typed["answer"]),
                    name=typed["name"],
                    words=typed["words"],
                    idempotency_key=typed["idempotency_key"],
                    actor=actor,
                )
                return for_the_customer(redirect("quotes:customer-quote", token, pk))
        except TooManyTriesError as refusal:
            form.add_error(None, str(refusal))
            status = 429
        except RuleRefusedError as refusal:
            form.add_error(None, str(refusal))
    context = {
        "job": link.job,
        "car": link.job.vehicle,
        "quote": found,
        "standing": queries.standing_of(found),
        "newer": link.job.quotes.filter(replaces=found).first(),
        "lines": found.lines.all(),
        "form": form,
        "token": token,
        "workshop": get_workshop(),
    }
    page = render(request, "jobs/quotes/customer_quote.html", context, status=status)
    return for_the_customer(page, has_form=True)


@login_not_required
@never_cache
@require_GET
def photograph(request: HttpRequest, token: str, pk: int, number: int) -> HttpResponse:
    return _photograph(token, pk, number, stored_photograph)


@login_not_required
@never_cache
@require_GET
def photograph_small(request: HttpRequest, token: str, pk: int, number: int) -> HttpResponse:
    return _photograph(token, pk, number, stored_thumbnail)


def _photograph(token: str, pk: int, number: int, bytes_of: Callable[[KeptPhotograph], bytes]) -> HttpResponse:
    """A photograph of this supplement, and of no other: the link opens none by its own name."""
    found = get_object_or_404(opened(token).job.quotes.exclude(file=""), pk=pk)
    try:
        picture = bytes_of(photograph_of(found, number))
    except PhotographDamagedError:
        raise Http404 from None
    return for_the_customer(as_picture(HttpResponse(picture, content_type="image/jpeg")))


@login_not_required
@never_cache
@require_GET
def paper(request: HttpRequest, token: str, pk: int) -> HttpResponse:
    """The PDF as it was sent."""
    found = get_object_or_404(opened(token).job.quotes.exclude(file=""), pk=pk)
    try:
        made = queries.stored_quote(found)
    except (PaperDamagedError, PaperErasedError):
        raise Http404 from None
    return paper_for_the_customer(made, f"{found.kind}-{found.number}-{found.version}")
