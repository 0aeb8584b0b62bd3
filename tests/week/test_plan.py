"""The week's page: where a car stands, what is late, and what today is."""

from datetime import UTC, date, datetime

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from jobs.job.models import JobKind
from jobs.week.plan import monday_of, week
from tests.week.factories import MONDAY, away, car, day

pytestmark = pytest.mark.django_db


def cards(shown):
    return {
        (str(row.person or ""), cell.day, card.label): card.job.vehicle.registration
        for row in shown.rows
        for cell in row.cells
        for card in cell.cards
    }


def test_a_car_stands_with_its_mechanic_where_it_comes_and_where_it_is_promised(mechanic):
    car("KLM 1", booked_for=day(1), promised_for=day(3), mechanic=mechanic)
    car("KLM 2", booked_for=day(2))
    assert cards(week(MONDAY, MONDAY)) == {
        ("Ines Marlow", day(1), "Arrives"): "KLM 1",
        ("Ines Marlow", day(3), "Promised"): "KLM 1",
        ("", day(2), "Arrives"): "KLM 2",
    }


def test_a_car_that_is_here_does_not_arrive_again(mechanic):
    car("KLM 1", stage="fitting", booked_for=day(0), promised_for=day(3), mechanic=mechanic)
    assert cards(week(MONDAY, MONDAY)) == {("Ines Marlow", day(3), "Promised"): "KLM 1"}


def test_late_cars_are_named_whatever_week_is_shown(mechanic):
    car("KLM 1", stage="fitting", promised_for=day(-3))
    car("KLM 2", booked_for=day(-1))
    car("KLM 3", booked_for=day(0))
    late = [card.job.vehicle.registration for card in week(day(14), MONDAY).late]
    assert late == ["KLM 1", "KLM 2"]


def test_the_page_shows_one_person_or_one_kind_of_job(browser_of, mechanic, second_mechanic):
    car("KLM 1", booked_for=day(1), mechanic=mechanic)
    car("KLM 2", booked_for=day(1), mechanic=second_mechanic, kind=JobKind.CHECK)
    client = browser_of(mechanic)
    of_ines = client.get(reverse("week:week"), {"person": mechanic.pk}).content.decode()
    checks = client.get(reverse("week:week"), {"kind": "check"}).content.decode()
    assert ("KLM 1" in of_ines, "KLM 2" in of_ines) == (True, False)
    assert ("KLM 1" in checks, "KLM 2" in checks) == (False, True)


@pytest.mark.parametrize("asked", ["x", "0001-01-01", "9999-12-31", "2026-02-30", "", "-1"])
def test_an_address_with_a_day_that_is_none_shows_this_week(browser_of, mechanic, asked):
    answer = browser_of(mechanic).get(reverse("week:week"), {"from": asked, "person": "x", "kind": "y"})
    assert answer.status_code == 200
    assert answer.context["week"].first == MONDAY


def test_a_day_in_the_middle_of_a_week_shows_the_week_from_its_monday(browser_of, mechanic):
    answer = browser_of(mechanic).get(reverse("week:week"), {"from": "2026-12-10"})
    assert answer.context["week"].first == date(2026, 12, 7)


def test_too_much_on_a_day_is_said_on_the_page(browser_of, mechanic):
    for number in range(2):
        car(f"KLM {number}", kind=JobKind.SETTINGS, booked_for=day(2), promised_for=day(2))
    assert "Too much on Wednesday 2 December: 12 of 8 h." in browser_of(mechanic).get("/week/").content.decode()


def test_whoever_is_away_is_shown_away_with_the_cars_that_are_promised_then(browser_of, mechanic, planner):
    car("KLM 1", stage="fitting", promised_for=day(1), mechanic=mechanic)
    away(mechanic, 1, 1, planner)
    row = next(row for row in week(MONDAY, MONDAY).rows if row.person == mechanic)
    assert (row.cells[1].is_away, len(row.cells[1].cards)) == (True, 1)
    assert "away" in browser_of(mechanic).get("/week/").content.decode()


@pytest.mark.parametrize(
    ("zone", "moment", "today"),
    [
        # 23:30 UTC on 30 June is already the first of July where the clock is an hour ahead
        ("Europe/London", datetime(2026, 6, 30, 23, 30, tzinfo=UTC), date(2026, 7, 1)),
        # the hour that comes twice, 25 October 2026: 00:30 and 01:30 UTC are both half past one
        ("Europe/London", datetime(2026, 10, 25, 0, 30, tzinfo=UTC), date(2026, 10, 25)),
        ("Europe/London", datetime(2026, 10, 25, 1, 30, tzinfo=UTC), date(2026, 10, 25)),
        # the night in which an hour is left out, 29 March 2026
        ("Europe/Berlin", datetime(2026, 3, 28, 23, 30, tzinfo=UTC), date(2026, 3, 29)),
        ("Pacific/Auckland", datetime(2026, 11, 29, 12, 0, tzinfo=UTC), MONDAY),
    ],
)
def test_today_is_the_workshop_s_own_whatever_the_clocks_do(settings, browser_of, mechanic, zone, moment, today):
    settings.TIME_ZONE = zone
    with time_machine.travel(moment, tick=False), timezone.override(zone):
        shown = week(monday_of(timezone.localdate()), timezone.localdate())
    assert [head.day for head in shown.days if head.is_today] == [today]
    assert (shown.days[-1].day - shown.days[0].day).days == 6


def test_the_week_asks_the_database_no_more_often_for_many_cars(
    browser_of, mechanic, second_mechanic, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    car("KLM 1", booked_for=day(1), promised_for=day(3), mechanic=mechanic)
    with CaptureQueriesContext(connection) as asked:
        week(MONDAY, MONDAY)
    for number in range(8):
        car(f"LMN {number}", booked_for=day(1), promised_for=day(3), mechanic=second_mechanic)
    with django_assert_num_queries(len(asked)):
        week(MONDAY, MONDAY)
