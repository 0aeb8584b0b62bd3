"""The pages of quotes, for the desk and for the customer."""

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs.job.models import Job, JobState
from jobs.quotes.models import AnswerKind, Quote, QuoteAnswer, QuoteKind
from tests.billing.test_pages import words_of
from tests.factories import JobFactory


def line_of(number, rate, **more):
    values = {"kind": "part", "description": "Conversion", "quantity": "2", "unit_price": "80.00", "rate": rate.pk}
    return {f"line-{number}-{name}": value for name, value in (values | more).items()}


def form_of(rate, *, initial=1, **more):
    form = {
        "idempotency_key": uuid.uuid4(),
        "valid_until": timezone.localdate() + timedelta(days=30),
        "remarks": "",
        "line-TOTAL_FORMS": initial + 3,
        "line-INITIAL_FORMS": initial,
        "send": "yes",
    }
    return form | line_of(0, rate) | more


def test_the_desk_sends_a_quote_and_opens_its_paper(browser_of, front_desk, job, standard):
    client = browser_of(front_desk)
    answer = client.post(reverse("quotes:new", args=[job.code]), form_of(standard), follow=True)
    quote = Quote.objects.get()
    assert f"Quote {quote.number} sent" in answer.content.decode()
    paper = words_of(client.get(reverse("quotes:paper", args=[job.code, quote.pk])))
    for words in (quote.number, "Mira Holt", "Conversion", "160.00", "32.00", "192.00", "Name and signature"):
        assert words in paper


def test_a_line_is_left_out_and_one_added(browser_of, front_desk, job, standard, quote_at_once):
    form = form_of(standard) | {"line-0-DELETE": "on"} | line_of(1, standard, description="Lead set", quantity="1")
    browser_of(front_desk).post(reverse("quotes:new", args=[job.code]), form)
    assert [line.description for line in Quote.objects.get().lines.all()] == ["Lead set"]


@pytest.mark.parametrize(
    "wrong", [{"line-0-quantity": "0"}, {"line-0-unit_price": "-1"}, {"line-0-rate": "99"}, {"line-0-DELETE": "on"}]
)
def test_a_line_that_is_none_is_refused(browser_of, front_desk, job, standard, wrong):
    answer = browser_of(front_desk).post(reverse("quotes:new", args=[job.code]), form_of(standard) | wrong)
    assert answer.status_code == 422
    assert not Quote.objects.exists()


def test_the_total_is_shown_before_anything_is_sent(browser_of, front_desk, job, standard):
    form = form_of(standard)
    del form["send"]
    answer = browser_of(front_desk).post(reverse("quotes:new", args=[job.code]), form)
    page = answer.content.decode()
    assert (answer.status_code, Quote.objects.exists()) == (200, False)
    assert "192.00" in page
    assert 'name="line-3-description"' in page  # the line that was typed, and three empty ones


def test_a_total_that_no_book_holds_is_refused(browser_of, front_desk, job, standard):
    form = form_of(standard) | {"line-0-quantity": "999999", "line-0-unit_price": "99999999"}
    answer = browser_of(front_desk).post(reverse("quotes:new", args=[job.code]), form)
    assert answer.status_code == 422
    assert "The total is too large" in answer.content.decode()


def test_the_job_card_says_to_the_mechanic_what_waits_and_no_sum(browser_of, mechanic, job, quoted):
    quote = quoted(job)
    card = browser_of(mechanic).get(reverse("board:job", args=[job.code])).content.decode()
    assert f"Waiting for the customer’s yes: quote {quote.number}" in card
    assert "160.00" not in card


def test_mechanics_open_no_quotes(browser_of, mechanic, job, quoted):
    quote, client = quoted(job), browser_of(mechanic)
    pages = [reverse(f"quotes:{name}", args=[job.code]) for name in ("page", "new", "supplement")]
    pages += [reverse(f"quotes:{name}", args=[job.code, quote.pk]) for name in ("quote", "version", "paper")]
    assert {client.get(page).status_code for page in pages} == {403}


@pytest.fixture
def customer(link):
    """`customer("quote", pk)`: the address of a page on the customer's link."""
    return lambda name, pk: reverse(f"quotes:customer-{name}", args=[link, pk])


def test_the_customer_accepts_with_a_name_and_a_tick(job, quoted, link, customer):
    quote, client = quoted(job), Client(enforce_csrf_checks=True)
    page = client.get(reverse("documents:customer-page", args=[link])).content.decode()
    assert customer("quote", quote.pk) in page
    page = client.get(customer("quote", quote.pk))
    form = {
        "idempotency_key": uuid.uuid4(), "name": "Mira Holt", "agreed": "on", "answer": "accepted",
        "csrfmiddlewaretoken": page.context["csrf_token"],
    }  # fmt: skip
    answer = client.post(customer("quote", quote.pk), form, follow=True)
    assert "Accepted by Mira Holt" in answer.content.decode()
    # A form from a page without any referrer has no origin, and would be refused.
    assert answer["Referrer-Policy"] == "same-origin"
    assert QuoteAnswer.objects.get().kind == AnswerKind.ACCEPTED


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"answer": "accepted"}, "Tick this to accept"),
        ({"answer": "refused"}, "Say why"),
        ({"answer": "accepted", "agreed": "on", "name": ""}, "Your full name"),
        ({"answer": "perhaps"}, "answer"),
    ],
)
def test_an_answer_that_is_not_whole_is_refused(job, quoted, customer, typed, words):
    form = {"idempotency_key": uuid.uuid4(), "name": "Mira Holt"} | typed
    answer = Client().post(customer("quote", quoted(job).pk), form)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not QuoteAnswer.objects.exists()


def test_without_the_token_of_its_page_nothing_is_accepted(job, quoted, customer):
    form = {"idempotency_key": uuid.uuid4(), "name": "Mira Holt", "agreed": "on", "answer": "accepted"}
    assert Client(enforce_csrf_checks=True).post(customer("quote", quoted(job).pk), form).status_code == 403


def test_the_customer_is_not_asked_for_an_answer_to_a_quote_of_an_abandoned_job(job, quoted, link):
    quote = quoted(job)
    Job.objects.update(state=JobState.ABANDONED, state_reason="sold")
    page = Client().get(reverse("quotes:customer-quote", args=[link, quote.pk])).content.decode()
    assert "withdrawn" in page
    assert "Accept quote" not in page


def test_a_link_opens_no_quote_of_another_job(quoted, customer, job):
    other = quoted(JobFactory())
    assert {Client().get(customer(name, other.pk)).status_code for name in ("quote", "paper")} == {404}
    assert Client().post(customer("quote", other.pk), {}).status_code == 404


def test_a_link_that_is_cancelled_opens_nothing(job, quoted, customer):
    quote = quoted(job)
    job.customer_links.update(revoked_at=timezone.now())
    assert Client().get(customer("quote", quote.pk)).status_code == 404


def test_after_ten_tries_a_link_has_to_wait(job, quoted, customer):
    url = customer("quote", quoted(job).pk)
    tried = [Client().post(url, {"answer": "accepted"}).status_code for _ in range(11)]
    assert tried == [422] * 10 + [429]


def test_the_customer_reads_a_replaced_version_and_is_led_to_the_newer(job, quoted, customer):
    first = quoted(job)
    second = quoted(job, "170.00", replaces=first)
    page = Client().get(customer("quote", first.pk)).content.decode()
    assert customer("quote", second.pk) in page
    assert "Accept quote" not in page


def test_the_office_writes_down_an_answer_once(browser_of, front_desk, job, quoted):
    quote, client = quoted(job), browser_of(front_desk)
    form = {
        "idempotency_key": uuid.uuid4(), "kind": "accepted", "name": "Mira Holt", "way": "paper",
        "answered_on": timezone.localdate(), "words": "signed at the counter",
    }  # fmt: skip
    url = reverse("quotes:answer", args=[job.code, quote.pk])
    assert [client.post(url, form).status_code for _ in range(2)] == [302, 302]
    assert client.post(url, form | {"idempotency_key": uuid.uuid4()}).status_code == 422
    supplement = client.get(reverse("quotes:page", args=[job.code])).content.decode()
    assert "Write supplement" in supplement


def test_a_supplement_is_sent_from_its_page(browser_of, front_desk, job, quoted, on_paper, standard):
    on_paper(quoted(job))
    form = form_of(standard, initial=0) | {"reason": "Spindle worn"}
    browser_of(front_desk).post(reverse("quotes:supplement", args=[job.code]), form)
    assert Quote.objects.get(kind=QuoteKind.SUPPLEMENT).reason == "Spindle worn"
