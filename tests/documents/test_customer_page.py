"""What a customer sees on a phone without opening a PDF, and what is kept of their looking."""

import re
import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs.documents.actions import make_link
from jobs.documents.models import DocumentKind
from jobs.handover.actions import issue_document
from jobs.models import CustomerLink
from jobs.privacy.held import held_about

# What a browser says with a page that somebody goes to (Fetch Metadata; RFC 9110, 12.5.1).
IN_A_BROWSER = {
    "accept": "text/html,application/xhtml+xml,*/*;q=0.8",
    "sec-fetch-dest": "document",
    "sec-fetch-mode": "navigate",
    "user-agent": "a phone",
}


@pytest.fixture
def link(job, signed_off, actor):
    """The address that a customer gets, of a car with its sheet issued."""
    issue_document(job=job, kind=DocumentKind.CUSTOMER_SHEET, idempotency_key=uuid.uuid4(), actor=actor)
    token = make_link(job=job, idempotency_key=uuid.uuid4(), actor=actor)
    return reverse("documents:customer-page", args=[token])


def test_the_page_shows_the_chart_for_a_desk_and_for_a_phone_of_360_px(link):
    page = Client().get(link).content.decode()
    assert re.findall(r'<svg[^>]* viewBox="0 0 (\d{3})', page) == ["720", "360"]
    assert "Advance before top dead centre over engine speed" in page


def test_the_page_shows_the_curve_and_every_entry_of_the_unit_as_on_the_sheet(link, job, version):
    page = " ".join(Client().get(link).content.decode().split())
    told = job.documents.get().made_from["map"]
    assert len(told["lines"]) > 5
    for line in told["lines"]:
        assert f"{line['value']} {line['unit']}".strip() in page
    # base timing 8° and 18° of the curve at 3000 rpm, added by hand
    assert (version.base_deg, version.curve[-1]) == (8.0, [3000, 18])
    assert "3000</th> <td>26° BTDC</td>" in page


def test_no_cache_and_no_search_engine_keeps_the_page(link):
    answer = Client().get(link)
    assert {"private", "no-store"} <= set(re.split(r",\s*", answer["Cache-Control"]))
    assert "noindex" in answer["X-Robots-Tag"]
    assert answer["Referrer-Policy"] == "no-referrer"


def test_the_first_opening_is_kept_and_no_later_one(link, browser_of, front_desk, job):
    Client().get(link, headers=IN_A_BROWSER)
    first = CustomerLink.objects.get().first_opened_at
    assert timezone.now() - first < timedelta(minutes=1)
    before = CustomerLink.objects.values().get()
    Client().get(link, headers=IN_A_BROWSER | {"user-agent": "another"}, REMOTE_ADDR="203.0.113.9")
    assert CustomerLink.objects.values().get() == before
    assert "First opened" in browser_of(front_desk).get(reverse("handover:page", args=[job.code])).content.decode()
    assert held_about(job.vehicle.customer)["links"][0]["first_opened_at"] is not None


def test_somebody_of_the_workshop_who_looks_is_not_the_customer(link, browser_of, front_desk, job):
    assert browser_of(front_desk).get(link, headers=IN_A_BROWSER).status_code == 200
    assert CustomerLink.objects.get().first_opened_at is None
    assert "Not opened yet" in browser_of(front_desk).get(reverse("handover:page", args=[job.code])).content.decode()


def test_a_browser_that_says_less_has_opened_it_too(link):
    Client().get(link, headers={"accept": "text/html"})
    assert CustomerLink.objects.get().first_opened_at is not None


@pytest.mark.parametrize(
    "said",
    [
        {"sec-purpose": "prefetch;prerender"},
        {"purpose": "prefetch"},
        {"purpose": "preview"},
        {"accept": "*/*"},
        {"accept": ""},
        {"sec-fetch-mode": "no-cors"},
        {"user-agent": "Mozilla/5.0 (compatible; some-bot/2.1)"},
        {"user-agent": "LinkPreview 1.0"},
        {"user-agent": "url-scanner"},
    ],
    ids=str,
)
def test_a_program_that_looks_at_the_link_has_not_opened_it(link, said):
    assert Client().get(link, headers=IN_A_BROWSER | said).status_code == 200
    assert CustomerLink.objects.get().first_opened_at is None


def test_asking_for_the_head_alone_is_no_opening(link):
    Client().head(link, headers=IN_A_BROWSER)
    assert CustomerLink.objects.get().first_opened_at is None
