"""Today: who works on what, the late ones first."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from garage.models import Bay
from garage.rota.actions import enter_absence
from jobs.board import queries
from jobs.board.groups import BY_BAY, BY_PERSON, in_groups
from jobs.board.late import late_jobs, late_since
from jobs.board.queries import Place, board
from jobs.job.models import JobKind
from tests.factories import LONG_AGO, JobFactory, VehicleFactory

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()
A_DAY = timedelta(days=1)


def here(plate, **columns):
    return JobFactory(vehicle=VehicleFactory(registration=plate), stage="fitting", **columns)


def plates(groups):
    return {group.heading: [row.job.vehicle.registration for row in group.rows] for group in groups}


def test_cars_stand_by_person_the_late_ones_first_then_those_promised_soonest(mechanic, second_mechanic):
    here("ONE", mechanic=mechanic)
    here("TWO", mechanic=mechanic, promised_for=TODAY + 3 * A_DAY)
    here("SIX", mechanic=mechanic, promised_for=TODAY)
    here("TEN", mechanic=mechanic, promised_for=TODAY - A_DAY)
    here("NINE", mechanic=second_mechanic)
    here("NONE")
    assert plates(in_groups(board(TODAY).at(Place.IN_HAND), BY_PERSON, TODAY)) == {
        "Ines Marlow": ["TEN", "SIX", "TWO", "ONE"],
        "Tam Okoro": ["NINE"],
        "Nobody yet": ["NONE"],
    }


def test_cars_stand_by_bay_where_the_owner_named_bays(browser_of, mechanic):
    here("ONE", bay=Bay.objects.create(name="Ramp", made_at=LONG_AGO))
    here("TWO")
    assert plates(in_groups(board(TODAY).at(Place.IN_HAND), BY_BAY, TODAY)) == {"Ramp": ["ONE"], "No bay": ["TWO"]}
    page = browser_of(mechanic).get("/", {"by": "bay"}).content.decode()
    assert page.index("Ramp") < page.index("No bay")


@pytest.mark.parametrize(
    ("columns", "is_late"),
    [
        ({"stage": "fitting", "promised_for": TODAY - A_DAY}, True),
        ({"stage": "fitting", "promised_for": TODAY}, False),
        ({"booked_for": TODAY - A_DAY}, True),
        ({"booked_for": TODAY}, False),
        ({"stage": "fitting", "booked_for": TODAY - 9 * A_DAY}, False),
        ({"stage": "after-care", "promised_for": TODAY - A_DAY}, False),
        ({"stage": "fitting", "promised_for": TODAY - A_DAY, "state": "on hold", "state_reason": "coil"}, False),
    ],
)
def test_late_is_what_is_promised_or_expected_on_a_day_that_is_over(columns, is_late):
    job = JobFactory(**columns)
    assert (bool(late_since(job, TODAY)), late_jobs(TODAY).contains(job)) == (is_late, is_late)


def test_a_late_car_is_named_however_many_stand_before_it_in_the_workshop(browser_of, mechanic, monkeypatch):
    monkeypatch.setattr(queries, "AT_FIRST", 1)
    here("ONE", booked_for=TODAY - 9 * A_DAY)
    here("OLD", booked_for=TODAY - A_DAY, promised_for=TODAY - 3 * A_DAY)
    here("NEW", promised_for=TODAY - A_DAY)
    found = board(TODAY)
    assert [job.vehicle.registration for job in found.late] == ["OLD"]
    assert 'href="/lists/late/"' in browser_of(mechanic).get("/").content.decode()
    every_late_car = browser_of(mechanic).get(reverse("board:list", args=["late"])).content.decode()
    assert every_late_car.index("OLD") < every_late_car.index("NEW")
    assert "ONE" not in every_late_car


def test_the_first_page_names_the_late_cars_and_since_when(browser_of, mechanic):
    job = here("KLM 204 B", mechanic=mechanic, promised_for=TODAY - A_DAY)
    page = browser_of(mechanic).get("/").content.decode()
    assert "Late:" in page
    assert late_since(job, TODAY) in page


def test_the_first_page_shows_one_person_or_one_kind_of_job(browser_of, mechanic, second_mechanic):
    here("ONE 1", mechanic=mechanic)
    here("TWO 2", mechanic=second_mechanic, kind=JobKind.SETTINGS)
    client = browser_of(mechanic)
    mine = client.get("/", {"person": mechanic.pk}).content.decode()
    settings = client.get("/", {"kind": "settings"}).content.decode()
    assert ("ONE 1" in mine, "TWO 2" in mine) == (True, False)
    assert "Showing Ines Marlow, every kind" in mine
    assert ("ONE 1" in settings, "TWO 2" in settings) == (False, True)
    assert "No cars here" in client.get("/", {"kind": "check"}).content.decode()


def test_whoever_is_away_today_is_said_beside_their_cars(browser_of, mechanic, actor):
    here("ONE", mechanic=mechanic)
    enter_absence(person=mechanic, first_day=TODAY, last_day=TODAY, idempotency_key=uuid.uuid4(), actor=actor)
    page = browser_of(mechanic).get(reverse("board:board")).content.decode()
    assert f"away {TODAY.day} {TODAY:%b %Y}" in page
