"""Who books the car and fits the unit alone says at once what stands on the clock and which unit goes in."""

import uuid
from urllib.parse import unquote

import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.models import Job
from tests.factories import VehicleFactory
from tests.jobs_factories import FittedUnitFactory
from tests.pages import text_of


@pytest.fixture
def owners(browser_of, owner):
    return browser_of(owner)


def book(client, *, key=None, **typed):
    form = {
        "idempotency_key": key or uuid.uuid4(), "registration": "KLM 204 B", "maker": "Alder", "model": "1500",
        "phone": "01632 960100", "kind": "unit and map", "wanted": "Unit and map",
    }  # fmt: skip
    return client.post(reverse("board:book"), form | typed)


@pytest.fixture
def unit(db):
    return FittedUnitFactory(vehicle=None)


def test_odometer_and_unit_are_taken_with_the_booking(owners, unit):
    book(owners, odometer="61204", odometer_unit="km", unit=unit.pk)
    job = Job.objects.get()
    assert (job.odometer, job.odometer_unit, job.unit) == (61204, "km", unit)
    unit.refresh_from_db()
    assert unit.vehicle == job.vehicle
    assert job.journal.filter(event="unit-chosen").exists()


def test_the_same_booking_sent_twice_puts_the_unit_in_once(owners, unit):
    key = uuid.uuid4()
    for _ in range(2):
        assert book(owners, key=key, odometer="61204", unit=unit.pk).status_code == 302
    assert Job.objects.get().journal.filter(event="unit-chosen").count() == 1


def test_both_may_wait(owners, unit):
    assert book(owners).status_code == 302
    job = Job.objects.get()
    assert (job.odometer, job.unit) == (None, None)


def test_a_unit_that_is_in_another_car_by_now_is_refused_and_nothing_is_booked(owners, unit):
    unit.vehicle = VehicleFactory()
    unit.save()
    FittedUnitFactory(vehicle=None)
    answer = book(owners, unit=unit.pk)
    assert answer.status_code == 422
    assert not Job.objects.exists()


def test_the_front_desk_is_not_asked_for_a_unit(browser_of, front_desk, unit):
    client = browser_of(front_desk)
    assert "Unit to fit" not in text_of(client.get(reverse("board:book")))
    book(client, unit=unit.pk)
    assert Job.objects.get().unit is None


def test_no_unit_is_asked_for_where_none_lies_on_the_shelf(owners):
    assert "Unit to fit" not in text_of(owners.get(reverse("board:book")))


def test_a_car_whose_odometer_was_read_is_in_today(owners):
    book(owners, odometer="61204")
    assert Job.objects.get().booked_for == timezone.localdate()


def test_whoever_has_the_papers_at_hand_goes_from_the_booking_to_all_data_of_the_car_and_then_to_the_job(owners, unit):
    leads_to = book(owners, all_data="1").url
    job = Job.objects.get()
    assert leads_to.startswith(reverse("vehicles:edit", args=[job.vehicle_id]))
    assert reverse("board:job", args=[job.code]) in unquote(leads_to)
