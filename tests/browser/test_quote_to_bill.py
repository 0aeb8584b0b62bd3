"""A quote is sent, accepted by the customer on a phone, a supplement added, and the bill read on the same link."""

import uuid
from decimal import Decimal

import pytest
from django.conf import settings
from django.utils import timezone
from playwright.sync_api import expect

from garage.models import Workshop
from garage.record.actor import Actor
from jobs.costs.actions import enter_cost
from jobs.documents.actions import make_link
from jobs.models import Bill
from jobs.vat.actions import add_rate
from tests.browser.conftest import DESK, session_of
from tests.factories import JobFactory, VehicleFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHONE = {"width": 390, "height": 844}


@pytest.fixture
def desk(chromium, live_server, front_desk):
    context = chromium.new_context(viewport=DESK, locale="en-GB", base_url=live_server.url)
    cookie = {"name": settings.SESSION_COOKIE_NAME, "value": session_of(front_desk), "url": live_server.url}
    context.add_cookies([cookie])
    yield context.new_page()
    context.close()


@pytest.fixture
def phone(chromium, live_server):
    context = chromium.new_context(
        viewport=PHONE, has_touch=True, is_mobile=True, locale="en-GB", base_url=live_server.url
    )
    yield context.new_page()
    context.close()


def accept(phone, link, name):
    phone.goto(link)
    phone.get_by_role("link", name="Read and answer").tap()
    phone.get_by_label("Your full name").fill(name)
    phone.get_by_label("I have read the quote").check()
    phone.get_by_role("button", name="Accept").tap()
    expect(phone.get_by_text(f"Accepted by {name}")).to_be_visible()


def test_from_the_quote_to_the_bill_on_the_customer_s_phone(desk, phone, front_desk):
    Workshop.objects.update(hourly_rate=Decimal("64.00"))
    actor = Actor(person=front_desk, at=timezone.now())
    job = JobFactory(vehicle=VehicleFactory(registration="KLM 204 B"), kind="check")
    add_rate(name="Standard", percent=Decimal(20), wording="", idempotency_key=uuid.uuid4(), actor=actor)
    link = f"/papers/{make_link(job=job, idempotency_key=uuid.uuid4(), actor=actor)}/"

    desk.goto(f"/jobs/{job.code}/quotes/")
    desk.get_by_role("link", name="Write quote").click()
    desk.get_by_role("button", name="Show total").click()
    expect(desk.get_by_text("230.40")).to_be_visible()  # 3 h at 64.00 and 20 %, by hand
    desk.get_by_role("button", name="Send quote").click()
    expect(desk.get_by_text("waiting", exact=True)).to_be_visible()
    accept(phone, link, "Mira Holt")

    desk.goto(f"/jobs/{job.code}/quotes/")
    desk.get_by_role("link", name="Write supplement").click()
    desk.get_by_label("What was found").fill("Rotor arm cracked")
    first = desk.get_by_role("group", name="Line 1")
    first.get_by_label("For", exact=True).fill("Rotor arm")
    first.get_by_label("Quantity").fill("1")
    first.get_by_label("Unit price").fill("12.40")
    desk.get_by_role("button", name="Send supplement").click()
    desk.goto(f"/jobs/{job.code}/")
    expect(desk.get_by_text("Waiting for the customer’s yes")).to_be_visible()
    accept(phone, link, "Mira Holt")

    for kind, said, quantity, price in (("hours", "Check", "3", "64.00"), ("part", "Rotor arm", "1", "12.40")):
        enter_cost(
            job=job, id=uuid.uuid4(), kind=kind, description=said, quantity=Decimal(quantity),
            unit_price=Decimal(price), actor=actor,
        )  # fmt: skip
    desk.goto(f"/jobs/{job.code}/bill/")
    desk.get_by_role("button", name="Issue bill").click()
    expect(desk.get_by_role("heading", name="Bill 20")).to_be_visible()
    bill = Bill.objects.get()
    assert bill.made_from["agreed"]["of_supplements"] == "12.40"
    phone.goto(link)
    paper = phone.get_by_role("link", name=f"Bill {bill.number}")
    expect(paper).to_be_visible()
    with phone.expect_response(lambda answer: "/bills/" in answer.url) as answered:
        phone.evaluate("url => fetch(url)", paper.get_attribute("href"))
    assert answered.value.headers["content-type"] == "application/pdf"
