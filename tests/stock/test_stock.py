"""What is bought, used and counted."""

import uuid
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.models import PricedPart, StockMove, UnitType
from garage.record.actor import Actor
from garage.stock.actions import StockRefusedError, buy_in, set_low_mark, take_stock
from garage.stock.queries import in_stock, units_in_stock, what_runs_low
from jobs.costs.actions import enter_cost, withdraw_cost
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory, UnitTypeRevisionFactory


@pytest.fixture
def desk(front_desk):
    return Actor(person=front_desk, at=timezone.now())


@pytest.fixture
def coil(workshop):
    return PricedPart.objects.create(
        name="Coil, 1.5 ohm", unit_price=Decimal("48.00"), made_at=timezone.now(), counted=True, low_mark=Decimal(2)
    )


def bought(part, desk, quantity="5", **more):
    return buy_in(part=part, quantity=Decimal(quantity), note="", actor=desk, **{"id": uuid.uuid4()} | more)


def used(part, desk, quantity="1", job=None):
    return enter_cost(
        job=job or JobFactory(), id=uuid.uuid4(), kind="part", description=str(part), quantity=Decimal(quantity),
        unit_price=part.unit_price, part=part, actor=desk,
    )  # fmt: skip


def test_what_came_in_less_what_was_used_is_there(coil, desk):
    bought(coil, desk)
    used(coil, desk, "2")
    assert in_stock(coil).quantity == Decimal(3)


def test_a_part_that_was_undone_is_there_again(coil, desk):
    bought(coil, desk)
    withdraw_cost(line=used(coil, desk), actor=desk)
    assert in_stock(coil).quantity == Decimal(5)


def test_what_is_not_counted_leaves_no_move(coil, desk):
    PricedPart.objects.update(counted=False)
    coil.refresh_from_db()
    used(coil, desk)
    assert not StockMove.objects.exists()


def test_a_delivery_sent_twice_came_in_once(coil, desk):
    key = uuid.uuid4()
    assert bought(coil, desk, id=key) == bought(coil, desk, id=key)
    assert in_stock(coil).quantity == Decimal(5)


def test_a_stocktake_says_why_it_differs(coil, desk):
    bought(coil, desk)
    with pytest.raises(StockRefusedError, match="The book has 5"):
        take_stock(part=coil, id=uuid.uuid4(), counted=Decimal(4), reason=" ", actor=desk)
    take_stock(part=coil, id=uuid.uuid4(), counted=Decimal(4), reason="one was dropped", actor=desk)
    assert in_stock(coil).quantity == Decimal(4)
    assert take_stock(part=coil, id=uuid.uuid4(), counted=Decimal(4), reason="", actor=desk) is None


def test_a_stocktake_of_minus_one_is_refused(coil, desk):
    with pytest.raises(StockRefusedError, match="fewer than none"):
        take_stock(part=coil, id=uuid.uuid4(), counted=Decimal(-1), reason="x", actor=desk)


def test_what_was_fitted_is_written_down_although_the_book_had_none_and_the_page_says_so(browser_of, coil, front_desk):
    job = JobFactory()
    form = {"id": uuid.uuid4(), "part": coil.pk, "kind": "part", "quantity": "1", "description": ""}
    page = browser_of(front_desk).post(reverse("costs:page", args=[job.code]), form, follow=True)
    assert "The book has no Coil, 1.5 ohm left" in page.content.decode()
    assert in_stock(coil).state == "count again"


@pytest.mark.parametrize(("quantity", "is_low"), [("3", False), ("2", True), ("1", True)])
def test_today_tells_those_who_buy_what_runs_low(browser_of, front_desk, mechanic, coil, desk, quantity, is_low):
    bought(coil, desk, quantity)
    assert ("Coil, 1.5 ohm" in browser_of(front_desk).get("/").content.decode()) == is_low
    assert "Coil, 1.5 ohm" not in browser_of(mechanic).get("/").content.decode()


def test_units_are_counted_on_the_shelf_by_their_numbers(desk):
    revision = UnitTypeRevisionFactory()
    for car in (None, None, VehicleFactory()):
        FittedUnitFactory(revision=revision, vehicle=car)
    FittedUnitFactory(revision=revision, removed_at=timezone.now())
    assert [(one.thing, one.quantity) for one in units_in_stock()] == [(revision.unit_type, 2)]
    set_low_mark(unit_type=revision.unit_type, low_mark=2, actor=desk)
    assert [one.thing for one in what_runs_low()] == [UnitType.objects.get()]


def test_a_move_is_kept_by_the_database(coil, desk):
    bought(coil, desk)
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        StockMove.objects.update(quantity=9)


def test_the_pages_take_deliveries_and_counts(browser_of, front_desk, coil):
    client = browser_of(front_desk)
    client.post(reverse("stock:bought", args=[coil.pk]), {"bought-id": uuid.uuid4(), "bought-quantity": "3"})
    form = {"count-id": uuid.uuid4(), "count-counted": "2", "count-reason": ""}
    assert client.post(reverse("stock:count", args=[coil.pk]), form).status_code == 422
    assert client.post(reverse("stock:count", args=[coil.pk]), form | {"count-reason": "lent"}).status_code == 302
    assert "2" in client.get(reverse("stock:list")).content.decode()
    assert in_stock(coil).quantity == Decimal(2)


def test_more_than_the_book_holds_is_refused_where_it_was_typed(browser_of, front_desk, coil):
    client = browser_of(front_desk)
    for answer in (302, 422):
        form = {"bought-id": uuid.uuid4(), "bought-quantity": "999999.99"}
        assert client.post(reverse("stock:bought", args=[coil.pk]), form).status_code == answer
    assert in_stock(coil).quantity == Decimal("999999.99")


def test_a_count_that_no_move_can_make_good_is_refused(coil, desk):
    for _ in range(2):
        used(coil, desk, "600000")
    with pytest.raises(StockRefusedError, match="Undo what is wrong"):
        take_stock(part=coil, id=uuid.uuid4(), counted=Decimal(0), reason="counted", actor=desk)
