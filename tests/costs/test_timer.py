"""Hours by a timer at the car."""

import uuid
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.models import Workshop
from garage.record.models import TrailEntry
from jobs.costs.models import CostLine, WorkTimer
from jobs.costs.queries import costs
from jobs.costs.timer_actions import (
    EndUnknownError,
    TimerRefusedError,
    correct_hours,
    hours_between,
    start_timer,
    stop_timer,
)
from tests.factories import JobFactory

NINE = datetime(2026, 6, 10, 8, 0, tzinfo=UTC)  # 9:00 in the workshop's summer


@pytest.fixture
def morning(actor):
    Workshop.objects.update(hourly_rate=Decimal("64.00"))
    return replace(actor, at=NINE)


@pytest.fixture
def job(workshop):
    return JobFactory(stage="fitting")


def later(actor, **more):
    return replace(actor, at=actor.at + timedelta(**more))


def started(job, actor):
    start_timer(job=job, id=uuid.uuid4(), actor=actor)
    return WorkTimer.objects.get(stopped_at=None, person=actor.person)


def test_stopping_writes_the_hours_at_the_stage_at_which_they_began(job, morning):
    timer = started(job, morning)
    job.stage = "base-timing"
    job.save()
    line = stop_timer(timer=timer, ended_at=None, actor=later(morning, minutes=90))
    assert (line.quantity, line.unit_price, line.description) == (Decimal("1.50"), Decimal("64.00"), "Fitting")
    assert TrailEntry.objects.get(event="cost-entered").stage == "fitting"
    assert "64" not in " ".join(job.journal.values_list("sentence", flat=True))


def test_stopping_twice_is_once(job, morning):
    timer, end = started(job, morning), later(morning, minutes=30)
    assert stop_timer(timer=timer, ended_at=None, actor=end) == stop_timer(timer=timer, ended_at=None, actor=end)
    assert CostLine.objects.count() == 1


def test_starting_another_stops_the_first_and_says_so(job, morning):
    started(job, morning)
    stopped = start_timer(job=JobFactory(), id=uuid.uuid4(), actor=later(morning, hours=2))
    assert stopped.job == job
    assert costs(job).hours_worked == Decimal("2.00")
    assert WorkTimer.objects.filter(stopped_at=None).count() == 1


def test_a_double_tap_is_one_start(job, morning):
    key = uuid.uuid4()
    for _ in range(2):
        start_timer(job=job, id=key, actor=morning)
    assert WorkTimer.objects.count() == 1


def test_two_people_have_a_timer_each_and_nobody_two(job, morning, second_mechanic):
    started(job, morning)
    started(job, replace(morning, person=second_mechanic))
    with pytest.raises(IntegrityError), transaction.atomic():
        WorkTimer.objects.create(
            id=uuid.uuid4(), job=job, person=second_mechanic, stage="map", started_at=timezone.now()
        )


def test_a_timer_forgotten_over_night_asks_for_its_true_end(job, morning):
    timer, next_day = started(job, morning), later(morning, hours=23)
    with pytest.raises(EndUnknownError, match="Enter its end"):
        stop_timer(timer=timer, ended_at=None, actor=next_day)
    with pytest.raises(EndUnknownError):
        start_timer(job=JobFactory(), id=uuid.uuid4(), actor=next_day)
    line = stop_timer(timer=timer, ended_at=NINE + timedelta(hours=7), actor=next_day)
    assert line.quantity == Decimal("7.00")


@pytest.mark.parametrize(("hours", "words"), [(-1, "before the start"), (15, "At most 14"), (25, "lies ahead")])
def test_an_end_that_cannot_be_is_refused(job, morning, hours, words):
    with pytest.raises(TimerRefusedError, match=words):
        stop_timer(timer=started(job, morning), ended_at=NINE + timedelta(hours=hours), actor=later(morning, hours=24))


@pytest.mark.parametrize(("hours", "worked", "is_asked"), [(2, 3, True), (12, 3, False)])
def test_the_owner_says_after_how_long_a_timer_asks_for_its_end(job, morning, hours, worked, is_asked):
    Workshop.objects.update(timer_hours=hours)
    timer, end = started(job, morning), later(morning, hours=worked)
    if is_asked:
        with pytest.raises(EndUnknownError):
            stop_timer(timer=timer, ended_at=None, actor=end)
        with pytest.raises(TimerRefusedError, match="At most 2 hours"):
            stop_timer(timer=timer, ended_at=end.at, actor=end)
    else:
        assert stop_timer(timer=timer, ended_at=None, actor=end).quantity == Decimal(worked)


def test_when_clocks_go_back_an_hour_the_hours_worked_stay_true(job, morning):
    # 25 October 2026 in Europe/London: 0:30 to 1:30 winter time are two hours (IANA time zone data)
    began = replace(morning, at=datetime(2026, 10, 24, 23, 30, tzinfo=UTC))
    line = stop_timer(timer=started(job, began), ended_at=None, actor=later(began, hours=2))
    assert line.quantity == Decimal("2.00")


def test_a_machine_whose_clock_went_back_loses_no_hours(job, morning):
    timer, behind = started(job, morning), later(morning, minutes=-30)
    with pytest.raises(EndUnknownError):
        stop_timer(timer=timer, ended_at=None, actor=behind)
    assert stop_timer(timer=timer, ended_at=NINE + timedelta(hours=1), actor=behind).quantity == Decimal("1.00")


def test_a_tap_too_many_writes_no_hours(job, morning):
    assert stop_timer(timer=started(job, morning), ended_at=None, actor=later(morning, seconds=5)) is None
    assert not CostLine.objects.exists()


def test_without_an_hourly_rate_the_page_says_who_sets_it(job, actor):
    with pytest.raises(TimerRefusedError, match="No hourly rate set"):
        start_timer(job=job, id=uuid.uuid4(), actor=actor)


@pytest.mark.parametrize(("seconds", "hours"), [(17, "0.00"), (18, "0.01"), (3600, "1.00"), (5418, "1.51")])
def test_hours_are_kept_to_a_hundredth(seconds, hours):
    # 5418 s are 1.505 h; halves upwards
    assert hours_between(NINE, NINE + timedelta(seconds=seconds)) == Decimal(hours)


def test_hours_are_put_right_with_a_reason_and_the_first_figure_stays(job, morning):
    line = stop_timer(timer=started(job, morning), ended_at=None, actor=later(morning, hours=3))
    correct_hours(line=line, id=uuid.uuid4(), hours=Decimal("2.5"), reason="Lunch", actor=later(morning, hours=4))
    assert costs(job).hours_worked == Decimal("2.5")
    assert CostLine.objects.filter(pk=line.pk, quantity=3).exists()
    assert "Lunch" in job.journal.last().sentence
    with pytest.raises(TimerRefusedError, match="changed meanwhile"):
        correct_hours(line=line, id=uuid.uuid4(), hours=Decimal("1"), reason="x", actor=morning)


def test_a_stopped_timer_is_kept_by_the_database(job, morning):
    stop_timer(timer=started(job, morning), ended_at=None, actor=later(morning, hours=1))
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        WorkTimer.objects.update(stage="map")


def test_it_is_started_and_stopped_on_the_job_card(browser_of, mechanic, job, morning):
    client = browser_of(mechanic)
    page = client.post(reverse("costs:start-timer", args=[job.code]), {"id": uuid.uuid4()}, follow=True)
    assert "timer running" in page.content.decode()
    timer = WorkTimer.objects.get()
    WorkTimer.objects.update(started_at=timezone.now() - timedelta(days=2))
    asked = client.post(reverse("costs:stop-timer", args=[timer.pk]), follow=True)
    assert "Stopped at" in asked.content.decode()
    end = timezone.localtime(timezone.now() - timedelta(days=2) + timedelta(hours=3))
    client.post(reverse("costs:stop-timer", args=[timer.pk]), {"ended_at": f"{end:%Y-%m-%dT%H:%M}"})
    assert WorkTimer.objects.get().stopped_at


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("2026-10-25T01:30", "The clocks change in that hour"),  # twice (IANA time zone data)
        ("2026-03-29T01:30", "The clocks change in that hour"),  # never
        ("0001-01-01T00:00", "before the start"),
        ("9999-12-31T23:59", "lies ahead"),
        ("half past four", "Enter day and time"),
    ],
)
def test_an_end_that_is_no_moment_is_refused_beside_its_box(browser_of, mechanic, job, morning, typed, words):
    timer = started(job, morning)
    answer = browser_of(mechanic).post(reverse("costs:stop-timer", args=[timer.pk]), {"ended_at": typed})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not CostLine.objects.exists()


def test_nobody_stops_the_timer_of_a_colleague(browser_of, second_mechanic, job, morning):
    timer = started(job, morning)
    assert browser_of(second_mechanic).post(reverse("costs:stop-timer", args=[timer.pk])).status_code == 404
