"""How much work lies on each day. The sums are reckoned by hand beside each case."""

import uuid
from decimal import Decimal

import pytest

from jobs.costs.actions import enter_cost, withdraw_cost
from jobs.costs.queries import usual_hours
from jobs.job.models import JobKind
from jobs.week.actions import set_usual_hours
from jobs.week.plan import week
from jobs.week.queries import hours_left
from tests.week.factories import MONDAY, away, car, day

pytestmark = pytest.mark.django_db


def needed(**chosen):
    return [head.sum.needed for head in week(MONDAY, MONDAY, **chosen).days]


def needed_of(person):
    row = next(row for row in week(MONDAY, MONDAY).rows if row.person == person)
    return [cell.sum.needed for cell in row.cells]


def test_hours_lie_evenly_on_the_mechanic_s_days_from_arrival_to_the_promised_day(mechanic):
    # 16 hours on Tuesday to Friday
    car("KLM 1", booked_for=day(1), promised_for=day(4), mechanic=mechanic)
    assert needed() == [0, 4, 4, 4, 4, 0, 0]


def test_a_day_away_gets_none_of_them(mechanic, planner):
    # 16 hours on Tuesday and Friday
    away(mechanic, 2, 3, planner)
    car("KLM 1", booked_for=day(1), promised_for=day(4), mechanic=mechanic)
    assert needed_of(mechanic) == [0, 8, 0, 0, 8, 0, 0]


def test_what_does_not_divide_evenly_adds_up_all_the_same(mechanic):
    car("KLM 1", kind=JobKind.UNIT_AND_MAP, booked_for=day(0), promised_for=day(2), mechanic=mechanic)
    assert needed() == [Decimal("3.33"), Decimal("3.33"), Decimal("3.34"), 0, 0, 0, 0]


def test_without_a_promised_day_one_person_works_on_it_day_after_day(mechanic):
    # 16 hours, eight a day, from Friday on: the weekend is free
    car("KLM 1", booked_for=day(4), mechanic=mechanic)
    assert needed() == [0, 0, 0, 0, 8, 0, 0]
    assert week(day(7), MONDAY).days[0].sum.needed == 8


def test_what_is_late_is_worked_on_from_today_on(mechanic):
    car("KLM 1", stage="fitting", booked_for=day(-10), promised_for=day(-3), mechanic=mechanic)
    assert needed() == [8, 8, 0, 0, 0, 0, 0]


def test_what_nobody_can_do_before_it_is_promised_lies_on_the_promised_day(mechanic, planner):
    away(mechanic, 0, 4, planner)
    car("KLM 1", stage="fitting", promised_for=day(4), mechanic=mechanic)
    assert needed() == [0, 0, 0, 0, 16, 0, 0]


def test_hours_entered_on_a_job_are_no_longer_to_do_and_those_withdrawn_are(mechanic, planner):
    job = car("KLM 1", stage="fitting", promised_for=day(0), mechanic=mechanic)
    line = enter_cost(
        job=job, id=uuid.uuid4(), kind="hours", description="Locked the advance", quantity=Decimal("5.5"),
        unit_price=Decimal(50), actor=planner,
    )  # fmt: skip
    assert hours_left([job]) == {job.pk: Decimal("10.5")}
    withdraw_cost(line=line, actor=planner)
    assert hours_left([job]) == {job.pk: 16}


def test_more_hours_than_usual_leave_none_to_do(mechanic, planner):
    job = car("KLM 1", kind=JobKind.CHECK, stage="map", promised_for=day(0))
    enter_cost(
        job=job, id=uuid.uuid4(), kind="hours", description="Misfire", quantity=Decimal(9), unit_price=Decimal(50),
        actor=planner,
    )  # fmt: skip
    assert hours_left([job]) == {job.pk: 0}


@pytest.mark.parametrize(
    "columns",
    [
        {"stage": "after-care", "promised_for": day(1)},
        {"state": "on hold", "state_reason": "no coil", "promised_for": day(1)},
        {"state": "abandoned", "state_reason": "sold", "promised_for": day(1)},
        {},
    ],
    ids=["handed over", "on hold", "abandoned", "no day yet"],
)
def test_what_is_not_to_do_this_week_lies_on_no_day(mechanic, columns):
    car("KLM 1", **columns)
    assert needed() == [0] * 7


def test_too_much_on_one_day_is_known_for_the_yard_and_for_the_person(mechanic, second_mechanic):
    for number in range(2):
        car(f"KLM {number}", kind=JobKind.SETTINGS, booked_for=day(1), promised_for=day(1), mechanic=mechanic)
    shown = week(MONDAY, MONDAY)
    assert [head.sum.words for head in shown.days][1] == "12 of 16 h"  # two people of eight hours
    assert shown.too_much == []
    row = next(row for row in shown.rows if row.person == mechanic)
    assert row.cells[1].sum.words == "12 of 8 h"
    assert row.cells[1].sum.is_too_much


def test_a_sum_counts_all_the_work_whatever_is_shown(mechanic, second_mechanic):
    car("KLM 1", kind=JobKind.SETTINGS, booked_for=day(1), promised_for=day(1), mechanic=mechanic)
    assert needed(person=second_mechanic) == needed() == [0, 6, 0, 0, 0, 0, 0]


def test_the_owner_says_how_long_a_kind_of_job_takes(browser_of, owner, planner):
    set_usual_hours(hours=usual_hours() | {"check": Decimal("2.5")}, actor=planner)
    assert usual_hours()["check"] == Decimal("2.5")
    page = browser_of(owner).get("/week/usual-hours/").content.decode()
    assert 'value="2.50"' in page or 'value="2.5"' in page


@pytest.mark.parametrize("hours", ["-1", "201", "", "x"])
def test_usual_hours_that_are_none_are_refused(browser_of, owner, hours):
    typed = {"conversion": hours, "unit_and_map": "10", "settings": "6", "check": "3", "unit_replaced": "5"}
    assert browser_of(owner).post("/week/usual-hours/", typed).status_code == 422
