"""A list is brought in whole and once, and undone as far as nothing was built on it."""

import threading
import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.urls import reverse
from django_tasks_db.models import DBTaskResult

from garage.arrivals.actions import bring_in
from garage.arrivals.models import Arrival, WaitingList
from garage.arrivals.tasks import put_in_removal, remove_old_lists
from garage.models import Customer, Engine, TrailEntry, Vehicle
from tests.arrivals.lists import JONAH, MIRA, brought_in, previewed
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.pages import text_of


@pytest.fixture
def desk(browser_of, front_desk):
    return browser_of(front_desk)


def undone(client):
    return client.post(reverse("arrivals:undo", args=[Arrival.objects.latest("at").pk]), follow=True)


def test_customers_and_cars_come_in_with_what_the_list_says(desk):
    brought_in(desk, previewed(desk, MIRA))
    car = Vehicle.objects.select_related("customer", "engine", "distributor", "coil").get()
    assert (car.registration, car.name_and_year, car.chassis_number) == ("KLM 204 B", "Alder 1500 · 1964", "AL-7781")
    assert (car.engine.number, car.engine.cylinders) == ("E 4410", 4)
    assert (car.customer.name, car.customer.phone, car.customer.address) == (
        "Mira Holt",
        "0171 555 0100",
        "3 Quarry Hill",
    )


def test_a_displacement_is_kept_as_it_was_written_with_its_header(desk):
    """It is read in no unit, and so converted into none."""
    brought_in(desk, previewed(desk, MIRA))
    assert Vehicle.objects.get().notes == "Capacity (cc): 1,498\nRuns rich"
    assert Engine.objects.get().bore_mm is None


def test_a_formula_stays_text(desk):
    brought_in(desk, previewed(desk, ["=1+1", "0171 555 0100", "=cmd|'x'!A0"], header=["Name", "Phone", "Address"]))
    assert Customer.objects.values_list("name", "address").get() == ("=1+1", "=cmd|'x'!A0")


def test_one_line_of_the_trail_tells_of_it_and_each_page_says_where_it_came_from(desk, front_desk):
    brought_in(desk, previewed(desk, MIRA, JONAH))
    entry = TrailEntry.objects.get()
    assert (entry.event, entry.by, entry.text) == (
        "arrivals-brought-in", front_desk, "Import: 2 customers added, 2 cars added",
    )  # fmt: skip
    assert "Added from customers.csv , line 3" in text_of(
        desk.get(reverse("vehicles:detail", args=[Vehicle.objects.get(registration="TRF 9").pk]))
    )


def test_a_double_tap_brings_in_once(desk):
    preview = previewed(desk, MIRA)
    first, second = (brought_in(desk, preview) for _ in range(2))
    assert first.url == second.url == reverse("arrivals:done", args=[Arrival.objects.get().pk])
    assert Vehicle.objects.count() == 1


def test_two_people_with_the_same_list_bring_it_in_once(desk, browser_of, owner):
    other = browser_of(owner)
    mine, theirs = previewed(desk, MIRA), previewed(other, MIRA)
    brought_in(desk, mine)
    refused = brought_in(other, theirs)
    assert refused.url == reverse("arrivals:preview", args=[theirs.context["own"].pk])
    assert "Customers or cars changed since this preview." in text_of(other.get(refused.url))
    assert (Arrival.objects.count(), Vehicle.objects.count()) == (1, 1)


@pytest.mark.django_db(transaction=True)
def test_two_taps_at_the_same_moment_bring_in_once(browser_of, front_desk, actor):
    preview = previewed(browser_of(front_desk), MIRA)
    own, seen = preview.context["own"], preview.context["plan"].fingerprint
    WaitingList.objects.update(by=actor.person)
    found = []

    def tap():
        try:
            found.append(bring_in(waiting_id=own.pk, seen=seen, actor=actor).pk)
        finally:
            connection.close()

    taps = [threading.Thread(target=tap) for _ in range(2)]
    for one in taps:
        one.start()
    for one in taps:
        one.join()
    assert len(found) == 2
    assert len(set(found)) == Vehicle.objects.count() == 1


@pytest.mark.parametrize(
    ("choice", "customers", "phone"), [("keep", 1, ""), ("fill", 1, "0171 555 0100"), ("new", 2, "")]
)  # fmt: skip
def test_a_likely_double_is_kept_filled_or_added_as_the_person_chose(desk, choice, customers, phone):
    ours = CustomerFactory(name="M. Holt", email="mira@example.org")
    brought_in(desk, previewed(desk, MIRA), line_2_customer=choice)
    ours.refresh_from_db()
    assert (Customer.objects.count(), ours.phone, ours.name) == (customers, phone, "M. Holt")
    assert Vehicle.objects.get().customer == (ours if choice != "new" else Customer.objects.latest("pk"))


def test_a_car_that_is_here_gets_what_was_empty_and_keeps_what_it_had(desk):
    car = VehicleFactory(registration="KLM 204 B", maker="Alder", model="Sixteen", year=None, engine__number="Own")
    brought_in(desk, previewed(desk, MIRA), line_2_car="fill")
    car.refresh_from_db()
    car.engine.refresh_from_db()
    assert (car.model, car.year, car.engine.number, car.engine.cylinders) == ("Sixteen", 1964, "Own", 4)
    assert Vehicle.objects.count() == 1


def test_rows_that_are_refused_stay_out_and_the_others_come_in(desk):
    brought_in(desk, previewed(desk, MIRA, [*JONAH[:7], "next year", *JONAH[8:]]))
    assert Vehicle.objects.get().registration == "KLM 204 B"
    assert Arrival.objects.get().left_out == 1


def test_a_list_that_brings_nothing_is_refused(desk):
    answer = brought_in(desk, previewed(desk, [*MIRA[:7], "never", *MIRA[8:]]))
    assert "Nothing in this list would be brought in." in text_of(desk.get(answer.url))
    assert not Arrival.objects.exists()


def test_undone_nothing_is_left_of_it_but_two_lines_of_the_trail(desk):
    brought_in(desk, previewed(desk, MIRA, JONAH))
    answer = undone(desk)
    assert "Import undone." in text_of(answer)
    assert not Customer.objects.exists()
    assert not Vehicle.objects.exists()
    assert not Engine.objects.exists()
    assert [entry.text for entry in TrailEntry.objects.all()] == [
        "Import: 2 customers added, 2 cars added", "Import undone",
    ]  # fmt: skip
    assert Arrival.objects.get().undone_at


def test_what_was_worked_on_since_stays_with_its_customer_and_is_named(desk):
    brought_in(desk, previewed(desk, MIRA, JONAH))
    JobFactory(vehicle=Vehicle.objects.get(registration="KLM 204 B"))
    undone(desk)
    assert Vehicle.objects.get().registration == "KLM 204 B"
    assert Customer.objects.get().name == "Mira Holt"
    assert TrailEntry.objects.latest("pk").text == (
        "Import undone. Stays, because work was added: Alder 1500 · 1964 · KLM 204 B; Mira Holt"
    )


def test_a_customer_whom_somebody_changed_since_stays(desk):
    brought_in(desk, previewed(desk, MIRA, JONAH))
    mira = Customer.objects.get(name="Mira Holt")
    desk.post(reverse("customers:edit", args=[mira.pk]), {"row_version": "1", "name": "Mira Holt-Reed"})
    undone(desk)
    assert Customer.objects.get().name == "Mira Holt-Reed"
    assert not Vehicle.objects.exists()


def test_undone_what_it_filled_is_empty_again_unless_it_was_changed_since(desk):
    ours = CustomerFactory(name="M. Holt", email="mira@example.org")
    theirs = CustomerFactory(name="Jonah Reed", phone="01715550200")
    jonah = [*JONAH[:3], "9 Weir Lane", *JONAH[4:]]
    brought_in(desk, previewed(desk, MIRA, jonah), line_2_customer="fill", line_3_customer="fill")
    desk.post(
        reverse("customers:edit", args=[theirs.pk]),
        {"row_version": "2", "name": "Jonah Reed", "phone": "01715550200", "address": "9 Weir Lane, upstairs"},
    )
    undone(desk)
    ours.refresh_from_db()
    theirs.refresh_from_db()
    assert (ours.phone, ours.address, theirs.address) == ("", "", "9 Weir Lane, upstairs")


def test_undoing_twice_is_once(desk):
    brought_in(desk, previewed(desk, MIRA))
    for _ in range(2):
        undone(desk)
    assert TrailEntry.objects.filter(event="arrivals-undone").count() == 1


def test_after_an_undo_the_same_list_comes_in_again(desk):
    brought_in(desk, previewed(desk, MIRA))
    undone(desk)
    brought_in(desk, previewed(desk, MIRA))
    assert Vehicle.objects.count() == 1


def test_a_list_that_nobody_brought_in_goes_by_itself_after_a_day(desk):
    """The worker asks, and does it once an hour."""
    previewed(desk, MIRA)
    made = WaitingList.objects.get().at
    put_in_removal(made + timedelta(hours=23))
    assert not DBTaskResult.objects.exists()
    WaitingList.objects.update(at=made - timedelta(days=2))
    for _ in range(2):
        put_in_removal(made)
    task = DBTaskResult.objects.get()
    assert remove_old_lists.call(**task.args_kwargs["kwargs"]) == "1 removed."
    assert not WaitingList.objects.exists()


def test_whoever_is_forgotten_is_in_no_list_that_waits(desk, browser_of, owner):
    previewed(desk, MIRA)
    typed = {"idempotency_key": uuid.uuid4(), "reason": "asked for it", "password": "a long workshop password"}
    browser_of(owner).post(reverse("privacy:forget", args=[CustomerFactory().pk]), typed)
    assert Customer.objects.get().forgotten_at
    assert not WaitingList.objects.exists()


def test_bring_in_of_a_list_that_is_gone_says_so(desk):
    preview = previewed(desk, MIRA)
    WaitingList.objects.all().delete()
    answer = brought_in(desk, preview)
    assert "This list is no longer here. Upload it again." in text_of(desk.get(answer.url))
