"""The price list, and picking a part from it onto a job."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from garage.pricelist.models import PricedPart
from jobs.costs.queries import costs
from tests.factories import JobFactory


def added(client, **typed):
    form = {"idempotency_key": uuid.uuid4(), "name": "Rotor arm", "part_number": "RA 14", "unit_price": "12,40"}
    return client.post(reverse("pricelist:list"), form | typed)


def put_on(client, job, part, **typed):
    form = {"id": uuid.uuid4(), "part": part.pk, "kind": "hours", "quantity": "2"}
    return client.post(reverse("costs:page", args=[job.code]), form | typed)


@pytest.fixture
def rotor_arm(browser_of, front_desk):
    added(browser_of(front_desk))
    return PricedPart.objects.get()


def test_a_part_from_the_list_brings_its_name_and_price_to_the_job(browser_of, front_desk, rotor_arm):
    job = JobFactory()
    assert put_on(browser_of(front_desk), job, rotor_arm).status_code == 302
    line = costs(job).lines[0]
    assert (line.kind, line.description, line.amount) == ("part", "Rotor arm (RA 14)", Decimal("24.80"))


def test_what_is_typed_beside_a_part_from_the_list_counts(browser_of, front_desk, rotor_arm):
    job = JobFactory()
    put_on(browser_of(front_desk), job, rotor_arm, description="Rotor arm, used", unit_price="5")
    assert (costs(job).lines[0].description, costs(job).total) == ("Rotor arm, used", Decimal("10.00"))


def test_another_price_changes_nothing_that_was_sold_before(browser_of, front_desk, rotor_arm):
    job, client = JobFactory(), browser_of(front_desk)
    put_on(client, job, rotor_arm)
    form = {"row_version": 1, "name": "Rotor arm", "part_number": "RA 14", "unit_price": "14.00", "offered": "on"}
    assert client.post(reverse("pricelist:part", args=[rotor_arm.pk]), form).status_code == 302
    assert costs(job).total == Decimal("24.80")
    assert client.post(reverse("pricelist:part", args=[rotor_arm.pk]), form | {"unit_price": "15"}).status_code == 409


def test_a_part_off_the_list_is_put_on_no_job(browser_of, front_desk, rotor_arm):
    PricedPart.objects.update(offered=False)
    assert put_on(browser_of(front_desk), JobFactory(), rotor_arm).status_code == 422


def test_a_line_without_words_and_without_a_part_is_refused(browser_of, front_desk, rotor_arm):
    form = {"id": uuid.uuid4(), "kind": "part", "quantity": "1", "unit_price": "5"}
    answer = browser_of(front_desk).post(reverse("costs:page", args=[JobFactory().code]), form)
    assert answer.status_code == 422
    assert "Enter what it is for" in answer.content.decode()


@pytest.mark.parametrize("price", ["-1", "x", "0.005", "12,400"])
def test_a_price_that_is_none_is_refused(browser_of, front_desk, price):
    assert added(browser_of(front_desk), unit_price=price).status_code == 422
    assert not PricedPart.objects.exists()


def test_the_mechanic_sees_no_prices(browser_of, mechanic):
    assert browser_of(mechanic).get(reverse("pricelist:list")).status_code == 403
