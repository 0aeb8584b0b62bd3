"""A customer is forgotten: an accepted quote is kept as a bill is, and what was only offered goes at once."""

from datetime import date, timedelta

from django.utils import timezone

from garage.record.actor import Actor
from jobs.privacy.actions import erase_what_is_due
from jobs.quotes.models import AnswerKind, Quote, QuoteAnswer
from tests.billing.test_forgetting import forgotten


def test_an_accepted_quote_stays_until_its_day_with_who_accepted_it(
    job, quoted, on_paper, owner, django_capture_on_commit_callbacks
):
    quote = quoted(job)
    on_paper(quote, name="Tom Ashby")
    forgotten(job, owner)
    assert (Quote.objects.get().buyer_name, QuoteAnswer.objects.get().name) == ("Mira Holt", "Tom Ashby")
    with django_capture_on_commit_callbacks(execute=True):
        erase_what_is_due(today=date(quote.issued_on.year + 30, 1, 1), actor=Actor(person=owner, at=timezone.now()))
    kept = Quote.objects.get()
    assert (kept.buyer_name, bool(kept.file), QuoteAnswer.objects.get().name) == ("[erased]", False, "[erased]")
    assert kept.gross == quote.gross


def test_a_refused_quote_goes_with_its_customer_and_so_does_whoever_refused_it(
    job, quoted, on_paper, owner, django_capture_on_commit_callbacks
):
    on_paper(quoted(job), kind=AnswerKind.REFUSED, name="Tom Ashby", words="too dear for Tom")
    with django_capture_on_commit_callbacks(execute=True):
        forgotten(job, owner, at=timezone.now() + timedelta(minutes=1))
    gone, answer = Quote.objects.get(), QuoteAnswer.objects.get()
    assert (gone.buyer_name, bool(gone.file), answer.name, answer.words) == ("[erased]", False, "[erased]", "")
