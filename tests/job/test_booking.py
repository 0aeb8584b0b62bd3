"""Booking a car in."""

import uuid
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.urls import reverse

from garage.record.actor import Actor
from jobs.job.actions import book_job
from jobs.job.models import Job
from tests.factories import StaffFactory, VehicleFactory


def booked(actor, vehicle=None, **changes):
    return book_job(
        **{
            "vehicle": vehicle or VehicleFactory(),
            "wanted": "Starts hot",
            "idempotency_key": uuid.uuid4(),
            "actor": actor,
        }
        | changes
    )


def test_jobs_are_numbered_by_year_and_serial(mechanic):
    at = datetime(2026, 3, 2, 10, tzinfo=UTC)
    first, second = (booked(Actor(person=mechanic, at=at)) for _ in range(2))
    new_year = booked(Actor(person=mechanic, at=datetime(2027, 1, 2, 10, tzinfo=UTC)))
    assert [first.code, second.code, new_year.code] == ["26-0001", "26-0002", "27-0001"]


def test_the_same_booking_sent_twice_is_one_job(actor):
    idempotency_key, vehicle = uuid.uuid4(), VehicleFactory()
    first = booked(actor, vehicle, idempotency_key=idempotency_key)
    again = booked(actor, vehicle, idempotency_key=idempotency_key)
    assert first == again
    assert Job.objects.count() == 1


def test_a_booking_that_fails_leaves_no_gap_in_the_numbers(actor):
    first = booked(actor)
    with pytest.raises(ValueError, match="wanted"):
        booked(actor, booked_for="not a date", wanted=_Unstorable())
    assert booked(actor).code[-4:] == f"{int(first.code[-4:]) + 1:04d}"


class _Unstorable:
    """Something the database refuses, after the number was drawn."""

    def resolve_expression(self, *args, **kwargs):
        raise ValueError("wanted cannot be stored")


@pytest.mark.django_db(transaction=True)
def test_numbers_stay_unique_and_without_gaps_when_booked_at_once():
    by, vehicle = StaffFactory(), VehicleFactory()
    actor = Actor(person=by, at=datetime(2026, 3, 2, 10, tzinfo=UTC))

    def one(_):
        try:
            return booked(actor, vehicle).code
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        codes = sorted(pool.map(one, range(12)))
    assert codes == [f"26-{serial:04d}" for serial in range(1, 13)]


def test_the_front_desk_books_a_car_on_the_page(browser_of, front_desk):
    vehicle = VehicleFactory()
    answer = browser_of(front_desk).post(
        reverse("board:book"),
        {"idempotency_key": uuid.uuid4(), "vehicle": vehicle.pk, "kind": "conversion", "wanted": "No more points"},
    )
    job = Job.objects.get()
    assert answer.url == f"/jobs/{job.code}/"
    assert job.journal.get().sentence == "Booked: No more points"


def test_a_booking_without_a_wish_is_refused_and_comes_back_filled_in(browser_of, front_desk):
    vehicle = VehicleFactory()
    answer = browser_of(front_desk).post(
        reverse("board:book"),
        {"idempotency_key": uuid.uuid4(), "vehicle": vehicle.pk, "wanted": "", "complaint": "Dies when hot"},
    )
    assert answer.status_code == 422
    assert "Dies when hot" in answer.content.decode()
    assert Job.objects.count() == 0


def test_two_people_changing_one_booking_are_shown_both(browser_of, front_desk, mechanic, actor):
    job = booked(actor)
    url = reverse("board:edit", args=[job.code])
    form = {"row_version": job.row_version, "wanted": "Economy", "odometer_unit": "miles"}
    assert browser_of(front_desk).post(url, form).status_code == 302
    answer = browser_of(mechanic).post(url, form | {"wanted": "Power"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Economy" in page
    assert "Power" in page
    job.refresh_from_db()
    assert job.wanted == "Economy"
