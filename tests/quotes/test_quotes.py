"""A quote is sent, answered once, and holds what was agreed."""

import uuid
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from garage.record.actor import Actor
from garage.record.idempotency import SentBeforeError
from jobs.job import journal
from jobs.job.models import Job, JobState
from jobs.quotes.actions import QuoteRefusedError, set_usual_part
from jobs.quotes.models import AnsweredBy, AnswerKind, Quote, QuoteAnswer, QuoteKind
from jobs.quotes.queries import agreed, lines_at_first, standing_of, waiting_for_yes
from tests.factories import JobFactory


def test_numbers_of_quotes_run_on_and_a_version_keeps_its_number(job, quoted):
    first = quoted(job)
    second = quoted(job, "170.00", replaces=first)
    other = quoted(JobFactory())
    year = timezone.localdate().year
    assert [one.name for one in (first, second, other)] == [
        f"Q-{year}-0001", f"Q-{year}-0001 version 2", f"Q-{year}-0002"
    ]  # fmt: skip
    assert [standing_of(one).state for one in (first, second)] == ["replaced", "waiting"]


def test_vat_of_a_quote_is_reckoned_as_on_bills(job, quoted):
    quote = quoted(job, "33.33")
    assert (quote.net, quote.vat, quote.gross) == (Decimal("33.33"), Decimal("6.67"), Decimal("40.00"))  # 20 %, by hand


def test_a_quote_with_nothing_on_it_is_refused(job, quoted):
    with pytest.raises(QuoteRefusedError, match="Nothing is on the quote"):
        quoted(job, lines=[])


def test_a_quote_that_would_be_out_of_date_is_refused(job, quoted):
    with pytest.raises(QuoteRefusedError, match="out of date"):
        quoted(job, days=-1)


def test_a_quote_that_would_be_valid_for_ever_is_refused_as_a_slip(job, quoted):
    with pytest.raises(QuoteRefusedError, match="Check the year"):
        quoted(job, days=180 * 365)


def test_the_quote_of_an_abandoned_job_is_withdrawn_and_nobody_accepts_it(job, quoted, on_link, on_paper):
    quote = quoted(job)
    Job.objects.update(state=JobState.ABANDONED, state_reason="sold")
    quote = Quote.objects.get()
    assert (standing_of(quote).state, waiting_for_yes(quote.job)) == ("withdrawn", [])
    for answer in (on_link, on_paper):
        with pytest.raises(QuoteRefusedError, match="was withdrawn"):
            answer(quote)
    Job.objects.update(state=JobState.OPEN, state_reason="")
    assert on_link(Quote.objects.get()).kind == AnswerKind.ACCEPTED


def test_a_form_sent_twice_is_one_quote_and_with_other_lines_refused(job, quoted):
    key = uuid.uuid4()
    assert quoted(job, key=key) == quoted(job, key=key)
    with pytest.raises(SentBeforeError):
        quoted(job, "99.00", key=key)


def test_the_customer_accepts_on_the_link_once(job, quoted, on_link):
    quote, key = quoted(job), uuid.uuid4()
    first = on_link(quote, idempotency_key=key)
    assert on_link(quote, idempotency_key=key) == first
    with pytest.raises(QuoteRefusedError, match="was accepted before"):
        on_link(quote)
    assert (first.name, first.way, first.recorded_by) == ("Mira Holt", AnsweredBy.LINK, None)


def test_only_the_newest_version_can_be_accepted(job, quoted, on_link):
    first = quoted(job)
    quoted(job, "170.00", replaces=first)
    with pytest.raises(QuoteRefusedError, match="newer version"):
        on_link(first)


def test_an_expired_quote_is_not_accepted(job, quoted, on_link, on_paper, desk):
    quote, late = quoted(job, days=3), replace(desk, at=desk.at + timedelta(days=5))
    with pytest.raises(QuoteRefusedError, match="valid until"):
        on_link(quote, actor=late)
    # A letter that was signed in time and found later is good.
    assert on_paper(quote, actor=late, answered_on=quote.valid_until)


def test_an_answer_on_paper_says_who_when_how_and_who_wrote_it_down(job, quoted, on_paper, front_desk):
    answer = on_paper(quoted(job))
    assert (answer.name, answer.way, answer.recorded_by) == ("Mira Holt", AnsweredBy.PAPER, front_desk)


@pytest.mark.parametrize(("days", "words"), [(1, "after today"), (-1, "before the quote")])
def test_an_answer_is_dated_between_the_quote_and_today(job, quoted, on_paper, days, words):
    with pytest.raises(QuoteRefusedError, match=words):
        on_paper(quoted(job), answered_on=timezone.localdate() + timedelta(days=days))


def test_an_accepted_quote_takes_no_version_and_no_second_quote(job, quoted, on_paper):
    quote = quoted(job)
    on_paper(quote)
    for more in ({"replaces": quote}, {}):
        with pytest.raises(QuoteRefusedError, match="Write a supplement"):
            quoted(job, **more)


def test_a_supplement_waits_for_its_own_yes_and_adds_to_what_was_agreed(job, quoted, on_paper, on_link):
    with pytest.raises(QuoteRefusedError, match="No quote of this job is accepted"):
        quoted(job, kind=QuoteKind.SUPPLEMENT)
    on_paper(quoted(job, "160.00"))
    more = quoted(job, "45.50", kind=QuoteKind.SUPPLEMENT)
    assert [one.quote for one in waiting_for_yes(job)] == [more]
    assert agreed(job).total == Decimal("160.00")
    on_link(more)
    assert (agreed(job).quoted, agreed(job).added, agreed(job).total) == tuple(map(Decimal, ("160", "45.50", "205.50")))
    assert waiting_for_yes(job) == []


def test_a_supplement_says_what_was_found(job, quoted, on_paper):
    on_paper(quoted(job))
    with pytest.raises(QuoteRefusedError, match="Say what was found"):
        quoted(job, kind=QuoteKind.SUPPLEMENT, reason=" ")


def test_the_journal_says_that_the_customer_was_asked_and_nothing_of_money(job, quoted, on_link):
    on_link(quoted(job, "160.00"), kind=AnswerKind.REFUSED, words="400 is too much")
    said = " ".join(job.journal.values_list("sentence", flat=True))
    assert "refused on the customer's link" in said
    assert "160" not in said
    assert "400" not in said
    assert QuoteAnswer.objects.get().words == "400 is too much"


def test_an_abandoned_job_takes_no_quote(job, quoted):
    job.state, job.state_reason = "abandoned", "sold"
    job.save()
    with pytest.raises(journal.JobAbandonedError):
        quoted(job)
    assert not Quote.objects.exists()


def test_what_was_sent_and_answered_is_kept_by_the_database(job, quoted, on_paper):
    quote = quoted(job)
    on_paper(quote)
    for model, change in ((Quote, {"gross": 1}), (QuoteAnswer, {"kind": AnswerKind.REFUSED})):
        with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
            model.objects.update(**change)


def test_a_quote_begins_with_the_usual_hours_and_parts_of_its_kind(job, owner, part):
    job.kind = "check"
    set_usual_part(kind="check", part=part.pk, quantity=Decimal(2), actor=Actor(person=owner, at=timezone.now()))
    hours, rotor = lines_at_first(job, Decimal("64.00"))
    assert (hours.quantity, hours.unit_price) == (Decimal(3), Decimal("64.00"))  # common practice, no source
    assert (rotor.description, rotor.quantity, rotor.unit_price) == (str(part), Decimal(2), Decimal("12.40"))


@pytest.fixture
def part(workshop):
    from garage.models import PricedPart

    return PricedPart.objects.create(name="Rotor arm", unit_price=Decimal("12.40"), made_at=timezone.now())


def test_two_answers_at_once_are_one(job, quoted, on_paper):
    quote = quoted(job)
    on_paper(quote)
    values = {"name": "x", "way": "paper", "kind": "refused", "answered_on": timezone.localdate()}
    with pytest.raises(IntegrityError), transaction.atomic():  # past the action: the database says so as well
        QuoteAnswer.objects.create(quote=quote, received_at=timezone.now(), recorded_by=quote.issued_by, **values)
