"""Which cars are due for a check, by date and by miles."""

from datetime import datetime, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from jobs.documents.coming_back import months_later
from jobs.job.models import GateCrossing, JobState
from jobs.rechecks.queries import rechecks
from jobs.strobe.models import Purpose, StrobeReading, StrobeSession
from tests.factories import JobFactory, VehicleFactory, fact_of
from tests.jobs_factories import MapVersionFactory

pytestmark = pytest.mark.django_db
TODAY, NOON = timezone.localdate(), time(12)


@pytest.fixture
def handed_over(mechanic):
    """`handed_over(days_ago, odometer, booked_days_ago)`: a car that left so long ago."""

    def made(days_ago, *, odometer=None, came_days_ago=None, vehicle=None, **columns):
        came = TODAY - timedelta(days=came_days_ago if came_days_ago is not None else days_ago + 5)
        job = JobFactory(
            stage="after-care", vehicle=vehicle or VehicleFactory(), booked_for=came, odometer=odometer,
            odometer_unit="km", **columns,
        )  # fmt: skip
        at = timezone.make_aware(datetime.combine(TODAY - timedelta(days=days_ago), NOON))
        GateCrossing.objects.create(job=job, left="handover", entered="after-care", by=mechanic, at=at)
        return job

    return made


def due():
    return {one.job: one for one in rechecks(TODAY)}


@pytest.mark.parametrize(
    ("days_ago", "shown"), [(0, False), (300, False), (340, True), (366, True), (470, True), (600, False)]
)
def test_a_car_is_due_a_year_after_it_was_handed_over_and_shown_a_month_before(handed_over, days_ago, shown):
    job = handed_over(days_ago)
    assert (job in due()) == shown


def test_by_its_usual_miles_a_car_is_due_earlier(handed_over):
    """1000 km in 100 days (10 km a day): the first 800 km are driven 80 days after the car left."""
    vehicle = VehicleFactory()
    handed_over(160, odometer=10_000, came_days_ago=165, vehicle=vehicle)
    job = handed_over(65, odometer=11_000, came_days_ago=65, vehicle=vehicle)
    found = due()[job]
    assert found.by_miles == TODAY - timedelta(days=65) + timedelta(days=80)
    assert (found.due, found.is_due(TODAY)) == (found.by_miles, False)
    assert found.reason == "first re-check, 800 km"


def test_a_car_that_was_looked_at_is_due_a_year_after_that_and_no_longer_by_miles(handed_over, mechanic, actor):
    vehicle = VehicleFactory()
    handed_over(500, odometer=10_000, came_days_ago=500, vehicle=vehicle)
    job = handed_over(400, odometer=11_000, came_days_ago=400, vehicle=vehicle)
    seen = timezone.now() - timedelta(days=350)
    session = StrobeSession.objects.create(
        job=job, purpose=Purpose.AFTER_CARE, tolerance_deg=1, begun_at=seen, begun_by=mechanic,
        map_version=MapVersionFactory(job=job),
    )  # fmt: skip
    StrobeReading.objects.create(**fact_of(actor), session=session, rpm=800, measured_deg=8, expected_deg=8)
    found = due()[job]
    assert (found.by_miles, found.reason) == (None, "yearly check")
    assert found.due == months_later(TODAY - timedelta(days=350), 12)


def test_without_two_readings_only_the_date_counts_and_the_page_says_so(handed_over, browser_of, mechanic):
    job = handed_over(366, odometer=10_000)
    assert due()[job].by_miles is None
    page = browser_of(mechanic).get("/rechecks/").content.decode()
    assert "not known: needs two odometer readings" in page
    assert job.vehicle.registration in page


def test_a_car_that_came_back_is_due_by_its_later_job_alone(handed_over):
    first = handed_over(366)
    JobFactory(vehicle=first.vehicle)
    assert due() == {}


def test_a_later_job_that_was_abandoned_is_none(handed_over):
    first = handed_over(366)
    JobFactory(vehicle=first.vehicle, state=JobState.ABANDONED, state_reason="sold")
    assert list(due()) == [first]


def test_the_longest_due_stands_first(handed_over):
    late, soon = handed_over(400), handed_over(350)
    assert list(due()) == [late, soon]


def test_many_cars_cost_no_more_questions_than_one(handed_over):
    handed_over(366, odometer=10_000)
    with CaptureQueriesContext(connection) as one:
        rechecks(TODAY)
    for _ in range(4):
        handed_over(366, odometer=10_000)
    with CaptureQueriesContext(connection) as five:
        assert len(rechecks(TODAY)) == 5
    assert len(five) == len(one)
