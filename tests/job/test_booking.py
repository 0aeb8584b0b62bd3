"""Booking a car in."""

import uuid
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.urls import reverse

from garage.customers.models import Customer
from garage.record.actor import Actor
from garage.vehicles.models import Vehicle
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
        booked(actor, wanted=_Unstorable())
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


NEW_CAR = {
    "registration": "hld 150 c",
    "maker": "Lorimer",
    "model": "1100 Tourer",
    "phone": "01632 960 142",
    "kind": "unit and map",
    "wanted": "No more points",
}


def book(browser, **typed):
    return browser.post(reverse("board:book"), {"idempotency_key": uuid.uuid4()} | typed)


def test_four_fields_make_car_and_customer_on_the_way(browser_of, front_desk):
    assert book(browser_of(front_desk), **NEW_CAR).status_code == 302
    job = Job.objects.get()
    assert (job.kind, job.vehicle.maker, job.vehicle.customer.phone) == ("unit and map", "Lorimer", "01632 960 142")
    assert job.vehicle.customer.name == "01632 960 142"  # until somebody asks for the name


def test_a_known_plate_is_the_known_car_however_it_is_typed(browser_of, front_desk):
    car = VehicleFactory(registration="HLD 150 C")
    assert book(browser_of(front_desk), registration="hld150c", kind="check", wanted="Yearly").status_code == 302
    assert Job.objects.get().vehicle == car


def test_a_known_telephone_is_the_known_customer(browser_of, front_desk):
    customer = VehicleFactory(customer__phone="01632-960142").customer
    book(browser_of(front_desk), **NEW_CAR)
    assert Job.objects.get().vehicle.customer == customer


def test_a_double_tap_makes_one_car_one_customer_one_job(browser_of, front_desk):
    sent = NEW_CAR | {"idempotency_key": uuid.uuid4()}
    for _ in range(2):
        assert book(browser_of(front_desk), **sent).status_code == 302
    assert (Job.objects.count(), Vehicle.objects.count(), Customer.objects.count()) == (1, 1, 1)


@pytest.mark.parametrize("left_out", ["registration", "maker", "model", "phone"])
def test_a_new_car_wants_its_four_fields(browser_of, front_desk, left_out):
    assert book(browser_of(front_desk), **(NEW_CAR | {left_out: ""})).status_code == 422
    assert not Vehicle.objects.exists()


def test_of_two_cars_with_one_plate_none_is_guessed(browser_of, front_desk):
    for _ in range(2):
        VehicleFactory(registration="HLD 150 C")
    answer = book(browser_of(front_desk), **NEW_CAR)
    assert answer.status_code == 422
    assert "Two cars have it." in answer.content.decode()


def test_no_car_is_promised_before_it_comes_in(browser_of, front_desk):
    answer = book(browser_of(front_desk), **NEW_CAR, booked_for="2026-03-02", promised_for="2026-03-01")
    assert answer.status_code == 422
    assert "Promised before the car comes in." in answer.content.decode()


def test_the_page_does_not_list_every_car(browser_of, front_desk):
    VehicleFactory(registration="QRS 1")
    assert "QRS 1" not in browser_of(front_desk).get(reverse("board:book")).content.decode()


def test_from_a_cars_page_the_booking_is_for_that_car(browser_of, front_desk):
    car = VehicleFactory(registration="QRS 1")
    page = browser_of(front_desk).get(reverse("board:book"), {"vehicle": car.pk}).content.decode()
    assert "QRS 1" in page
    assert 'name="registration"' not in page
