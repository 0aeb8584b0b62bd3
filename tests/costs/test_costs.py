"""Hours and parts."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from garage.models import Workshop
from jobs.costs.queries import costs
from tests.factories import JobFactory


@pytest.fixture
def job(db):
    return JobFactory()


def enter(client, job, **typed):
    form = {"id": uuid.uuid4(), "kind": "part", "description": "Rotor arm", "quantity": "1", "unit_price": "12.40"}
    return client.post(reverse("costs:page", args=[job.code]), form | typed)


def test_the_front_desk_enters_a_part(browser_of, front_desk, job):
    enter(browser_of(front_desk), job)
    assert costs(job).total == Decimal("12.40")


def test_hours_without_a_price_take_the_workshop_s_rate(browser_of, front_desk, job):
    Workshop.objects.update(hourly_rate=Decimal("64.00"))
    enter(browser_of(front_desk), job, kind="hours", quantity="2.25", unit_price="")
    assert costs(job).hours == Decimal("144.00")


def test_hours_without_a_price_are_refused_where_no_rate_is_set(browser_of, front_desk, job):
    answer = enter(browser_of(front_desk), job, kind="hours", unit_price="")
    assert answer.status_code == 422
    assert "hourly rate" in answer.content.decode()


@pytest.mark.parametrize(
    ("quantity", "price", "amount", "source"),
    [
        ("3", "0.335", None, "a tenth of a penny is refused"),
        ("0.33", "1.50", "0.50", "0.495 by hand, halves up"),
        ("0.01", "0.50", "0.01", "0.005 by hand, halves up"),
        ("0", "5", None, "nothing of something is no line"),
        ("-1", "5", None, "a part is not given back by a minus: take the line back"),
        ("9999999", "1", None, "more than anybody uses"),
    ],
)
def test_amounts_are_reckoned_to_the_penny(browser_of, front_desk, job, quantity, price, amount, source):
    answer = enter(browser_of(front_desk), job, quantity=quantity, unit_price=price)
    if amount is None:
        assert answer.status_code == 422, source
    else:
        assert costs(job).total == Decimal(amount), source


def test_a_double_tap_enters_one_line(browser_of, front_desk, job):
    id, client = uuid.uuid4(), browser_of(front_desk)
    enter(client, job, id=id)
    enter(client, job, id=id)
    assert len(costs(job).lines) == 1


def test_a_line_taken_back_stays_in_the_book_but_not_in_the_sum(browser_of, front_desk, job):
    client = browser_of(front_desk)
    enter(client, job)
    line = costs(job).lines[0]
    for _ in range(2):
        client.post(reverse("costs:withdraw", args=[job.code, line.pk]))
    assert costs(job).total == 0
    assert job.cost_lines.count() == 2


def test_a_part_without_a_price_is_not_told_of_hourly_rates(browser_of, front_desk, job):
    answer = enter(browser_of(front_desk), job, unit_price="")
    assert answer.status_code == 422
    assert "Enter the price." in answer.content.decode()
    assert "hourly rate is set" not in answer.content.decode()


def test_the_mechanic_keeps_no_costs(browser_of, mechanic, job):
    assert browser_of(mechanic).get(reverse("costs:page", args=[job.code])).status_code == 403


def work(client, job, **typed):
    form = {"id": uuid.uuid4(), "description": "Fitting and base timing", "quantity": "2.25"}
    return client.post(reverse("costs:hours", args=[job.code]), form | typed, follow=True)


@pytest.fixture
def rate(workshop):
    Workshop.objects.update(hourly_rate=Decimal("64.00"))


def test_mechanics_write_their_hours_at_the_workshop_s_rate_and_see_no_money(browser_of, mechanic, job, rate):
    answer = work(browser_of(mechanic), job)
    line = costs(job).lines[0]
    assert (line.by, line.kind, line.amount) == (mechanic, "hours", Decimal("144.00"))
    assert "144.00" not in answer.content.decode()
    assert "64.00" not in answer.content.decode()
    assert job.journal.get().sentence == "Added hours: 2.25 h, Fitting and base timing"


def test_a_mechanic_sets_no_price_whatever_is_sent(browser_of, mechanic, job, rate):
    work(browser_of(mechanic), job, unit_price="1", kind="part")
    assert costs(job).hours == Decimal("144.00")


def test_mechanics_take_back_their_own_hours_and_nobody_else_s(browser_of, mechanic, second_mechanic, job, rate):
    work(browser_of(mechanic), job)
    url = reverse("costs:withdraw-hours", args=[job.code, costs(job).lines[0].pk])
    assert browser_of(second_mechanic).post(url).status_code == 404
    assert costs(job).hours_worked == Decimal("2.25")
    assert browser_of(mechanic).post(url).status_code == 302
    assert costs(job).lines == []


def test_a_part_is_not_taken_back_by_way_of_the_hours(browser_of, owner, job):
    enter(browser_of(owner), job)
    url = reverse("costs:withdraw-hours", args=[job.code, costs(job).lines[0].pk])
    assert browser_of(owner).post(url).status_code == 404


@pytest.mark.parametrize(("typed", "words"), [("0", "At least 0.01"), ("101", "At most 100 hours"), ("two", "figure")])
def test_hours_without_sense_are_refused_with_what_is_allowed(browser_of, mechanic, job, rate, typed, words):
    answer = work(browser_of(mechanic), job, quantity=typed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert costs(job).lines == []


def test_hours_are_refused_while_no_rate_is_set_and_keep_what_was_typed(browser_of, mechanic, job, workshop):
    answer = work(browser_of(mechanic), job)
    assert answer.status_code == 422
    assert "The owner sets it" in answer.content.decode()
    assert "Fitting and base timing" in answer.content.decode()
