"""Customers in the book."""

import uuid

import pytest
from django.urls import reverse

from garage.models import Customer
from tests.factories import CustomerFactory, VehicleFactory
from tests.pages import assert_not_found


def test_the_front_desk_enters_a_customer(browser_of, front_desk):
    browser_of(front_desk).post(reverse("customers:new"), {"idempotency_key": uuid.uuid4(), "name": "Mira Holt"})
    assert Customer.objects.get().name == "Mira Holt"


def test_a_double_tap_enters_one_customer(browser_of, front_desk):
    form = {"idempotency_key": uuid.uuid4(), "name": "Mira Holt"}
    client = browser_of(front_desk)
    first, second = (client.post(reverse("customers:new"), form) for _ in range(2))
    assert first.url == second.url
    assert Customer.objects.count() == 1


def test_a_form_without_its_id_is_refused_and_says_so(browser_of, front_desk):
    answer = browser_of(front_desk).post(reverse("customers:new"), {"name": "Mira Holt"})
    assert answer.status_code == 422
    assert "Mira Holt" in answer.content.decode()


def test_entering_a_customer_leads_on_to_their_car(browser_of, front_desk):
    answer = browser_of(front_desk).post(
        reverse("customers:new"), {"idempotency_key": uuid.uuid4(), "name": "Mira Holt", "then_car": "yes"}
    )
    assert answer.url == f"/vehicles/new/?customer={Customer.objects.get().pk}"


@pytest.mark.parametrize(("field", "typed"), [("name", ""), ("email", "not an address"), ("name", "x" * 121)])
def test_a_refused_customer_comes_back_as_typed(browser_of, front_desk, field, typed):
    form = {"idempotency_key": uuid.uuid4(), "name": "Mira Holt", "phone": "01632 960 114"} | {field: typed}
    answer = browser_of(front_desk).post(reverse("customers:new"), form)
    assert answer.status_code == 422
    assert "01632 960 114" in answer.content.decode()


def test_two_people_changing_one_customer_are_shown_both(browser_of, front_desk, owner):
    customer = CustomerFactory(name="Mira Holt")
    url, form = reverse("customers:edit", args=[customer.pk]), {"row_version": 1, "name": "Mira Holt"}
    browser_of(front_desk).post(url, form | {"phone": "111"})
    answer = browser_of(owner).post(url, form | {"phone": "222"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "111" in page
    assert "222" in page
    assert Customer.objects.get().phone == "111"


def test_after_seeing_both_the_second_may_store_on_purpose(browser_of, front_desk, owner):
    customer = CustomerFactory(name="Mira Holt")
    url, form = reverse("customers:edit", args=[customer.pk]), {"row_version": 1, "name": "Mira Holt"}
    browser_of(front_desk).post(url, form | {"phone": "111"})
    page = browser_of(owner).post(url, form | {"phone": "222"}).content.decode()
    assert 'name="row_version" value="2"' in page
    browser_of(owner).post(url, form | {"phone": "222", "row_version": 2})
    assert Customer.objects.get().phone == "222"


def test_a_customer_s_page_lists_their_cars(browser_of, mechanic):
    vehicle = VehicleFactory(registration="KLM 204 B")
    page = browser_of(mechanic).get(reverse("customers:detail", args=[vehicle.customer.pk])).content.decode()
    assert "KLM 204 B" in page


def test_an_unknown_customer_is_a_quiet_404(browser_of, mechanic):
    assert_not_found(browser_of(mechanic).get(reverse("customers:detail", args=[9999])))


def test_script_in_a_name_is_shown_as_text(browser_of, mechanic):
    CustomerFactory(name="<script>alert(1)</script>")
    page = browser_of(mechanic).get(reverse("customers:list")).content.decode()
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page
