"""What the work needs to know of a car: asked after the booking, proposed from a like car, then on to the stage."""

import pytest
from django.urls import reverse

from garage.record.models import TrailEntry
from garage.vehicles.models import Engine, Vehicle
from jobs.booking.needed import facts_needed, needs_something, proposed_unit
from jobs.job.models import Job
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory
from tests.pages import text_of

pytestmark = pytest.mark.django_db

UNKNOWN = {
    "vehicle__system_volts": None,
    "vehicle__engine__cylinders": None,
    "vehicle__engine__firing_order": "",
    "vehicle__engine__idle_rpm": None,
    "vehicle__engine__red_line_rpm": None,
    "vehicle__distributor__trigger": "",
    "vehicle__distributor__rotation": "",
    "vehicle__distributor__base_timing_deg": None,
}
TYPED = {
    "system_volts": 12,
    "engine-firing_order": "1342",
    "engine-idle_rpm": "850",
    "engine-red_line_rpm": "6000",
    "distributor-trigger": "contact breaker",
    "distributor-rotation": "anticlockwise",
    "distributor-base_timing_deg": "8",
}


@pytest.fixture
def job(db):
    return JobFactory(kind="unit and map", odometer=52288, booked_for="2026-01-05", **UNKNOWN)


def page_of(job):
    return reverse("board:needed", args=[job.code])


def send(client, job, **more):
    return client.post(page_of(job), TYPED | {"row_version": job.vehicle.row_version} | more)


def test_what_is_entered_stands_in_the_record_and_the_car_goes_on(browser_of, mechanic, owner, job):
    answer = send(browser_of(owner), job, go="1")
    assert answer.url == reverse("fitting:page", args=[job.code])
    car = Vehicle.objects.get(pk=job.vehicle_id)
    assert (car.system_volts, car.engine.firing_order, car.distributor.base_timing_deg) == (12, "1-3-4-2", 8)
    assert car.engine.cylinders == 4  # the firing order names them
    assert Job.objects.get().stage == "fitting"


def test_only_what_is_unknown_is_asked(browser_of, owner, job):
    job.vehicle.engine.idle_rpm = 850
    job.vehicle.engine.save()
    page = browser_of(owner).get(page_of(job)).content.decode()
    assert "engine-red_line_rpm" in page
    assert "engine-idle_rpm" not in page
    assert "earth_polarity" not in page  # the sheet measures it


def test_a_fact_left_empty_stays_unknown_and_stops_nothing(browser_of, owner, job):
    answer = send(browser_of(owner), job, go="1", **{"distributor-rotation": "", "engine-firing_order": ""})
    assert answer.status_code == 302
    car = Vehicle.objects.get(pk=job.vehicle_id)
    assert (car.distributor.rotation, car.engine.cylinders) == ("", None)


def test_a_like_car_proposes_and_the_trail_says_where_a_value_is_from(browser_of, owner, job):
    VehicleFactory(
        registration="KLM 900 Z",
        maker=job.vehicle.maker.upper(),
        model=job.vehicle.model,
        engine__idle_rpm=820,
        distributor__base_timing_deg=10,
        distributor__rotation="",
        system_volts=None,
    )
    page = browser_of(owner).get(page_of(job)).content.decode()
    assert 'value="820"' in page
    assert "As on KLM 900 Z. Check it on this car." in page
    send(browser_of(owner), job, **{"engine-idle_rpm": "820", "distributor-base_timing_deg": "8"})
    said = TrailEntry.objects.filter(sentence__startswith="Needed for the work").get().sentence
    assert "idle speed as on KLM 900 Z" in said
    assert "base timing" not in said.partition(":")[2].partition("as on")[0]  # typed, not taken over


def test_another_make_proposes_nothing(browser_of, owner, job):
    VehicleFactory(maker="Ostler", model=job.vehicle.model, engine__idle_rpm=777)
    assert "777" not in browser_of(owner).get(page_of(job)).content.decode()


def test_the_only_unit_on_the_shelf_is_proposed_and_goes_in(browser_of, owner, job):
    unit = FittedUnitFactory()
    assert proposed_unit(job) == unit
    send(browser_of(owner), job, unit=unit.pk)
    assert Job.objects.get().unit == unit


def test_of_several_units_one_of_the_type_fitted_last_is_proposed(job):
    fitted, other, same = FittedUnitFactory(), FittedUnitFactory(), FittedUnitFactory()
    same.revision = fitted.revision
    same.save()
    assert proposed_unit(job) is None
    JobFactory(unit=fitted)
    fitted.vehicle = JobFactory().vehicle
    fitted.save()
    assert proposed_unit(job) == same != other


def test_a_booking_of_a_car_in_the_yard_leads_to_what_is_needed(browser_of, owner):
    form = {
        "idempotency_key": "3a3c0d3e-8f53-4d4f-9a37-3a1f4d0b1a01", "registration": "zz 12 k", "maker": "Lorimer",
        "model": "1100", "phone": "01632 960282", "kind": "unit and map", "odometer": 5,
    }  # fmt: skip
    answer = browser_of(owner).post(reverse("board:book"), form)
    job = Job.objects.get()
    assert answer.url == page_of(job)
    assert (job.wanted, job.vehicle.registration) == ("Unit and map", "ZZ 12 K")


def test_a_conversion_asks_for_what_its_inspection_does_not_find(job):
    Job.objects.update(kind="conversion")
    assert facts_needed(Job.objects.get()) == [("distributor", "base_timing_deg"), ("engine", "idle_rpm")]


def test_a_yearly_check_asks_for_nothing(job):
    Job.objects.update(kind="check")
    assert not needs_something(Job.objects.get())


def test_what_was_changed_meanwhile_is_not_overwritten(browser_of, owner, job):
    answer = send(browser_of(owner), job, row_version=job.vehicle.row_version - 1)
    assert answer.status_code == 409
    assert Vehicle.objects.get(pk=job.vehicle_id).system_volts is None


def test_what_somebody_else_entered_meanwhile_is_shown_beside_what_was_typed(browser_of, owner, job):
    Engine.objects.update(idle_rpm=900, red_line_rpm=6000)
    Vehicle.objects.update(row_version=job.vehicle.row_version + 1)
    answer = send(browser_of(owner), job)
    assert answer.status_code == 409
    assert "Saved now" in text_of(answer)
    # the red line was typed alike
    (shown,) = answer.context["needed"].entered_meanwhile
    assert shown == {"label": "Idle speed", "value": "900", "unit": "rpm", "source": "You typed 850."}
    assert send(browser_of(owner), job, row_version=job.vehicle.row_version + 1).status_code == 302
    assert Engine.objects.get().idle_rpm == 900


def test_where_all_of_it_was_entered_meanwhile_it_is_said(browser_of, owner, job):
    send(browser_of(owner), job)
    answer = browser_of(owner).post(page_of(job), TYPED | {"row_version": 1}, follow=True)
    assert "All of this was entered meanwhile. Yours was not saved." in answer.content.decode()


def test_the_front_desk_enters_facts_and_leaves_the_rest_to_the_mechanic(browser_of, front_desk, job):
    FittedUnitFactory()
    page = text_of(browser_of(front_desk).get(page_of(job)))
    assert "Unit to fit" not in page
    assert "Save and go to" not in page
    assert send(browser_of(front_desk), job, go="1").url == reverse("board:job", args=[job.code])
    assert Job.objects.get().stage == "booked"


@pytest.mark.parametrize(("cylinders", "told", "asked"), [(2, None, True), (2, False, False), (4, None, False)])
def test_whether_there_is_a_rotor_is_asked_of_a_twin_of_which_nobody_said(cylinders, told, asked):
    job = JobFactory(kind="unit and map", vehicle__engine__cylinders=cylinders, vehicle__distributor__has_rotor=told)
    assert (("distributor", "has_rotor") in facts_needed(job)) is asked
