"""When a car is due again, and which of them the board still shows."""

import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from jobs.board.queries import Place, board
from jobs.documents.coming_back import come_back, distance, months_later
from jobs.job.models import GateCrossing, JobState
from jobs.strobe import actions as strobe
from jobs.strobe.models import Purpose
from tests.jobs_factories import proven_version

TODAY = timezone.localdate()


@pytest.fixture
def version(actor):
    return proven_version(actor)


@pytest.fixture
def job(version):
    """In after-care, whenever it got there."""
    job = version.job
    type(job).objects.filter(pk=job.pk).update(stage="after-care")
    job.refresh_from_db()
    return job


def left(job, mechanic, days_ago):
    at = timezone.now() - timedelta(days=days_ago)
    GateCrossing.objects.create(job=job, left="handover", entered="after-care", by=mechanic, at=at)


def look_at(job, version, actor, days_ago):
    at = timezone.now() - timedelta(days=days_ago)
    then = type(actor)(person=actor.person, at=at, device=actor.device)
    session = strobe.begin_map_session(
        job=job,
        purpose=Purpose.AFTER_CARE,
        version_id=version.pk,
        version_words=str(version),
        idempotency_key=uuid.uuid4(),
        actor=then,
    )
    strobe.record_reading(session=session, id=uuid.uuid4(), rpm=900, measured_deg=8.0, actor=then)


def after_care_of_the_board():
    return [row.job for row in board(TODAY).at(Place.AFTER_CARE)]


@pytest.mark.parametrize(
    ("days_ago", "shown"), [(0, True), (59, True), (70, False), (320, False), (340, True), (400, True), (600, False)]
)
def test_the_board_shows_a_car_just_handed_over_and_again_when_it_is_due(job, mechanic, days_ago, shown):
    left(job, mechanic, days_ago)
    assert (job in after_care_of_the_board()) == shown


def test_a_car_that_was_looked_at_is_due_a_year_after_that(job, version, mechanic, actor):
    left(job, mechanic, 370)
    assert come_back(job).is_due
    look_at(job, version, actor, 5)
    due = come_back(job)
    assert due.by == months_later(TODAY - timedelta(days=5), 12)
    assert not due.is_due
    assert job not in after_care_of_the_board()


def test_a_job_put_on_hold_in_after_care_stays_on_the_board(job, mechanic):
    left(job, mechanic, 200)
    type(job).objects.filter(pk=job.pk).update(state=JobState.ON_HOLD, state_reason="waiting for a spare unit")
    assert [row.job for row in board(TODAY).at(Place.ON_HOLD)] == [job]


def test_cars_of_years_ago_cost_the_board_nothing(job, mechanic, django_assert_num_queries):
    left(job, mechanic, 1500)
    with django_assert_num_queries(1 + len(Place)):  # the workshop's months, and the jobs of each place
        assert board(TODAY).is_empty


@pytest.mark.parametrize(
    ("km", "unit", "said"),
    [
        # one mile is 1.609344 km (NIST SP 811:2008, appendix B.8); to the nearest ten by hand
        (800, "miles", "500 miles (800 km)"), (1000, "miles", "620 miles (1000 km)"), (800, "km", "800 km"),
    ],
)  # fmt: skip
def test_the_driver_is_told_the_distance_as_the_odometer_counts_it(km, unit, said):
    assert distance(km, unit) == said
