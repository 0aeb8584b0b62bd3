"""Double taps and the back button: what is sent twice is one thing, and what an old page says anew is not lost."""

import uuid

import pytest
from django.urls import reverse

from garage.models import Customer, Vehicle
from garage.vehicles.forms import CoilForm, DistributorForm, EngineForm
from jobs.models import CostLine, Job, RoadRun, StrobeReading, StrobeSession
from jobs.roadtest.models import BeforeLeaving
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.jobs_factories import proven_version


@pytest.fixture
def car(db):
    return VehicleFactory()


def test_one_customer_is_entered_by_a_double_tap(browser_of, front_desk):
    form = {"idempotency_key": uuid.uuid4(), "name": "Mira Holt", "phone": "01632 960 114"}
    for _ in range(2):
        assert browser_of(front_desk).post(reverse("customers:new"), form).status_code == 302
    assert Customer.objects.count() == 1


def test_another_customer_typed_into_an_old_page_is_refused_instead_of_lost(browser_of, front_desk):
    form = {"idempotency_key": uuid.uuid4(), "name": "Mira Holt"}
    browser_of(front_desk).post(reverse("customers:new"), form)
    answer = browser_of(front_desk).post(reverse("customers:new"), form | {"name": "Jon Arden"})
    assert answer.status_code == 409
    assert "sent before with other entries" in answer.content.decode()
    assert Customer.objects.get().name == "Mira Holt"


def car_form(**more):
    form = {
        "idempotency_key": uuid.uuid4(),
        "customer": CustomerFactory().pk,
        "registration": "KLM 204 B",
        "maker": "Alder",
    }
    return form | {"model": "1500", "engine-strokes": "4", "engine-bore_mm": "76.2"} | more


def test_one_car_is_entered_by_a_double_tap(browser_of, front_desk):
    form = car_form()
    for _ in range(2):
        assert browser_of(front_desk).post(reverse("vehicles:new"), form).status_code == 302
    assert Vehicle.objects.count() == 1


def test_other_figures_of_the_engine_on_an_old_page_are_refused_instead_of_lost(browser_of, front_desk):
    form = car_form()
    browser_of(front_desk).post(reverse("vehicles:new"), form)
    answer = browser_of(front_desk).post(reverse("vehicles:new"), form | {"engine-bore_mm": "80"})
    assert answer.status_code == 409
    assert Vehicle.objects.get().engine.bore_mm == 76.2


def as_shown(form):
    return {form.add_prefix(name): "" if form[name].value() is None else form[name].value() for name in form.fields}


def edit_form(car, **more):
    form = {"row_version": 1, "customer": car.customer_id, "registration": car.registration, "maker": car.maker}
    form |= {"model": car.model}
    form |= as_shown(EngineForm(instance=car.engine, prefix="engine"))
    form |= as_shown(DistributorForm(instance=car.distributor, prefix="distributor")) | {"distributor-factory_band": ""}
    form |= as_shown(CoilForm(instance=car.coil, prefix="coil"))
    return {name: value for name, value in form.items() if value is not False} | more


def test_a_car_changed_twice_by_a_double_tap_is_no_clash(browser_of, front_desk, car):
    form = edit_form(car, **{"engine-bore_mm": "76.2"})
    for _ in range(2):
        assert browser_of(front_desk).post(reverse("vehicles:edit", args=[car.pk]), form).status_code == 302
    assert Vehicle.objects.get().row_version == 2


def test_two_people_changing_only_the_coil_are_shown_both(browser_of, front_desk, owner, car):
    url = reverse("vehicles:edit", args=[car.pk])
    browser_of(front_desk).post(url, edit_form(car, **{"coil-primary_ohm": "1.5"}))
    answer = browser_of(owner).post(url, edit_form(car, **{"coil-primary_ohm": "3"}))
    assert answer.status_code == 409
    assert Vehicle.objects.get().coil.primary_ohm == 1.5


def test_another_booking_from_an_old_page_is_refused_instead_of_lost(browser_of, front_desk, car):
    form = {
        "idempotency_key": uuid.uuid4(),
        "vehicle": car.pk,
        "kind": "conversion",
        "wanted": "Runs without the points.",
    }
    browser_of(front_desk).post(reverse("board:book"), form)
    answer = browser_of(front_desk).post(reverse("board:book"), form | {"wanted": "The yearly check."})
    assert answer.status_code == 409
    assert Job.objects.get().wanted == "Runs without the points."


def test_a_booking_changed_twice_by_a_double_tap_is_no_clash(browser_of, front_desk):
    job = JobFactory()
    form = {"row_version": 1, "wanted": job.wanted, "odometer": "61204", "odometer_unit": "miles"}
    for _ in range(2):
        assert browser_of(front_desk).post(reverse("board:edit", args=[job.code]), form).status_code == 302
    assert job.journal.count() == 1


def test_a_second_reading_from_the_page_of_the_first_is_refused_instead_of_lost(browser_of, mechanic):
    job = JobFactory()
    form = {"sweep-id": uuid.uuid4(), "sweep-rpm": "800", "sweep-measured_deg": "8", "sweep-direction": "rising"}
    url = reverse("inspection:add-sweep-reading", args=[job.code])
    for _ in range(2):
        assert browser_of(mechanic).post(url, form).status_code == 302
    answer = browser_of(mechanic).post(url, form | {"sweep-rpm": "1500", "sweep-measured_deg": "17"})
    assert answer.status_code == 409
    assert job.sweep_readings.get().rpm == 800


def test_one_session_and_one_reading_come_of_double_taps(browser_of, mechanic):
    job, client = JobFactory(), browser_of(mechanic)
    begin = {"idempotency_key": uuid.uuid4(), "base_deg": "8"}
    for _ in range(2):
        client.post(reverse("strobe:begin-base", args=[job.code]), begin)
    session = StrobeSession.objects.get()
    reading = {"id": uuid.uuid4(), "rpm": "800", "measured_deg": "7.5"}
    for _ in range(2):
        client.post(reverse("strobe:add-reading", args=[job.code, session.pk]), reading)
    assert StrobeReading.objects.count() == 1
    assert client.post(reverse("strobe:begin-base", args=[job.code]), begin | {"base_deg": "10"}).status_code == 409


def test_one_run_comes_of_a_double_tap(browser_of, mechanic, second_mechanic, actor):
    job = proven_version(actor).job
    form = {
        "idempotency_key": uuid.uuid4(),
        "route": "Quarry hill",
        "driver": mechanic.pk,
        "writer": second_mechanic.pk,
        "looked_at": list(BeforeLeaving),
    }
    url = reverse("roadtest:begin", args=[job.code])
    for _ in range(2):
        assert browser_of(mechanic).post(url, form).status_code == 302
    assert RoadRun.objects.count() == 1
    assert browser_of(mechanic).post(url, form | {"route": "Ring road"}).status_code == 409


def test_one_cost_comes_of_a_double_tap(browser_of, front_desk):
    job = JobFactory()
    form = {"id": uuid.uuid4(), "kind": "part", "description": "rotor", "quantity": "1", "unit_price": "12.50"}
    for _ in range(2):
        assert browser_of(front_desk).post(reverse("costs:page", args=[job.code]), form).status_code == 302
    assert CostLine.objects.count() == 1
