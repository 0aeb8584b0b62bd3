"""One box finds a car, a job or a unit by its numbers, however they are typed."""

import pytest
from django.urls import reverse

from jobs.finding.search import search
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory


@pytest.fixture
def car(db):
    found = VehicleFactory(registration="HLD 150 C", chassis_number="AL-1500/77821")
    found.engine.number = "E 4471-B"
    found.engine.save()
    found.distributor.number = "D.25.61"
    found.distributor.save()
    return found


@pytest.mark.parametrize("typed", ["HLD150C", "hld 150 c", "hld150", "150c", "Hld-150-C", "150 C"])
def test_a_plate_is_found_however_it_is_typed(car, typed):
    assert search(typed).vehicles == [car]


@pytest.mark.parametrize("typed", ["77821", "al150077821", "e4471b", "4471-b", "D2561", "d 25 61"])
def test_chassis_engine_and_distributor_numbers_find_the_car(car, typed):
    assert search(typed).vehicles == [car]


def test_a_number_of_another_car_does_not(car):
    VehicleFactory(registration="HLD 151 C")
    assert search("hld150c").vehicles == [car]


def test_a_job_is_found_by_the_numbers_of_its_car(car):
    job = JobFactory(vehicle=car)
    assert search("e4471b").jobs == [job]
    assert search(job.code.replace("-", "")).jobs == [job]


def test_a_letter_alone_is_no_number(car):
    assert search("c").vehicles == [car], "as a word it is found in the plate"
    assert search("zz").nothing


def test_the_cars_of_a_batch_that_is_called_back_are_one_search(browser_of, owner, car):
    FittedUnitFactory(serial_number="F-4410", firmware="2.07", batch="26-W14", vehicle=car)
    FittedUnitFactory(serial_number="F-4411", firmware="2.08", batch="26-W15", vehicle=VehicleFactory())
    assert [unit.serial_number for unit in search("26W14").units] == ["F-4410"]
    assert [unit.serial_number for unit in search("2.07").units] == ["F-4410"]
    page = browser_of(owner).get(reverse("finding:search"), {"q": "26-W14"}).content.decode()
    assert "F-4410" in page
    assert "HLD 150 C" in page
    assert "F-4411" not in page
