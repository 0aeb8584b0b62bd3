"""The calendar feeds, read by icalendar, and by the letters of RFC 5545."""

import uuid
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from icalendar import Calendar

from garage.models import Bay, Staff
from garage.record.actor import Actor
from garage.record.models import TrailEntry
from jobs.job.actions import edit_booking
from jobs.models import CalendarFeed, Job
from jobs.week import feed_actions as actions
from tests.factories import LONG_AGO, CustomerFactory, JobFactory, VehicleFactory
from tests.week.factories import away, car, day

pytestmark = pytest.mark.django_db


@pytest.fixture
def boss(owner, planner):
    return Actor(person=owner, at=planner.at)


def made(actor, person=None, with_names=False):
    return actions.make_feed(person=person, with_names=with_names, idempotency_key=uuid.uuid4(), actor=actor)


def read(token):
    return Client().get(reverse("week:feed", args=[token]))


def events(token):
    calendar = Calendar.from_ical(read(token).content)
    return {str(event["summary"]): event for event in calendar.walk("VEVENT")}


def test_the_yard_s_feed_has_what_comes_what_is_promised_and_who_is_away(boss, mechanic):
    car("KLM 204 B", booked_for=day(1), promised_for=day(3), mechanic=mechanic)
    away(mechanic, 7, 11, boss)
    found = events(made(boss))
    assert {name: (event["dtstart"].dt, event["dtend"].dt) for name, event in found.items()} == {
        # RFC 5545, 3.6.1: DTEND is the day after the last
        "Arrives: KLM 204 B Alder 1500 saloon": (day(1), day(2)),
        "Promised: KLM 204 B Alder 1500 saloon": (day(3), day(4)),
        "Away: Ines Marlow": (day(7), day(12)),
    }


def test_a_day_is_a_date_without_time_or_zone_and_so_the_same_in_every_zone(boss):
    car("KLM 1", booked_for=date(2027, 3, 28))  # the night in which Europe's clocks leave out an hour
    raw = read(made(boss)).content.decode()
    assert "DTSTART;VALUE=DATE:20270328\r\n" in raw
    assert "DTEND;VALUE=DATE:20270329\r\n" in raw
    assert "TZID" not in raw
    assert "VTIMEZONE" not in raw


def test_a_person_s_feed_has_that_person_s_cars_and_days_alone(mechanic, second_mechanic, planner):
    car("KLM 1", booked_for=day(1), mechanic=mechanic)
    car("KLM 2", booked_for=day(1), mechanic=second_mechanic)
    away(second_mechanic, 7, 7, planner)
    found = events(made(Actor(person=mechanic, at=planner.at), person=mechanic))
    assert list(found) == ["Arrives: KLM 1 Alder 1500 saloon"]


def test_no_customer_is_named_unless_the_owner_says_so(boss):
    vehicle = VehicleFactory(registration="KLM 1", customer=CustomerFactory(name="Signe Öhman"))
    JobFactory(vehicle=vehicle, booked_for=day(1), wanted="Signe Öhman wants it by noon", complaint="Öhman says: rough")
    assert "Öhman" not in read(made(boss)).content.decode()
    named = events(made(boss, with_names=True))["Arrives: KLM 1 Alder 1500 saloon"]
    assert "Customer: Signe Öhman" in str(named["description"])


def test_a_mechanic_makes_a_feed_of_their_own_and_no_other(mechanic, second_mechanic, planner):
    me = Actor(person=mechanic, at=planner.at)
    assert made(me, person=mechanic)
    for person, with_names in ((None, False), (second_mechanic, False), (mechanic, True)):
        with pytest.raises(actions.FeedRefusedError):
            made(me, person=person, with_names=with_names)


def test_an_event_keeps_its_uid_while_the_car_is_moved_and_counts_its_changes(boss):
    job = car("KLM 1", booked_for=day(1), promised_for=day(2))
    token, name = made(boss), "Promised: KLM 1 Alder 1500 saloon"
    before = events(token)[name]
    edit_booking(job=job, row_version=1, promised_for=day(4), actor=boss)
    after = events(token)[name]
    assert after["uid"] == before["uid"]
    assert after["sequence"] > before["sequence"]
    assert after["dtstart"].dt == day(4)
    assert len({str(event["uid"]) for event in events(token).values()}) == 2


def test_commas_semicolons_backslashes_and_long_lines_come_through_whole(boss):
    name = "Ramp, left; by the door\\window ß " + "und noch etwas" * 2
    bay = Bay.objects.create(name=name[:40], made_at=LONG_AGO)
    vehicle = VehicleFactory(registration="KLM 1", model="Sälón, dröp; \\head coupé with a very long name of 60")
    JobFactory(vehicle=vehicle, booked_for=day(1), bay=bay)
    raw = read(made(boss)).content
    # RFC 5545, 3.1: no line is longer than 75 octets, and each ends with CR LF
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    assert b"\n" not in raw.replace(b"\r\n", b"")
    (event,) = Calendar.from_ical(raw).walk("VEVENT")
    assert str(event["summary"]) == f"Arrives: KLM 1 Alder {vehicle.model}"
    assert f"Bay: {bay}" in str(event["description"])
    assert rb"\," in raw
    assert rb"\;" in raw


@pytest.mark.parametrize("sign", ["\r\n", "\r", "\n", "\x0b", "\x1b", "\x85", "\u2028"])
def test_no_sign_in_a_name_parts_a_line_or_adds_one(boss, sign):
    customer = CustomerFactory(name=f"Mira{sign}ATTENDEE:Holt")
    JobFactory(vehicle=VehicleFactory(registration="KLM 1", model=f"15{sign}00", customer=customer), booked_for=day(1))
    raw = read(made(boss, with_names=True)).content.decode()
    assert raw.splitlines() == raw.split("\r\n")[:-1]
    assert not any(line.startswith("ATTENDEE") for line in raw.splitlines())
    (event,) = Calendar.from_ical(raw).walk("VEVENT")
    assert str(event["summary"]) == "Arrives: KLM 1 Alder 15 00"
    assert "Customer: Mira ATTENDEE:Holt" in str(event["description"])


def test_a_calendar_has_what_rfc_5545_asks_of_it_and_of_each_event(boss):
    car("KLM 1", booked_for=day(1))
    calendar = Calendar.from_ical(read(made(boss)).content)
    assert str(calendar["version"]) == "2.0"  # 3.7.4
    assert calendar["prodid"]  # 3.7.3
    for event in calendar.walk("VEVENT"):
        assert event["uid"]  # 3.8.4.7
        assert event["dtstamp"].dt.utcoffset() == timedelta(0)  # 3.8.7.2: in UTC
        assert calendar.errors == []
        assert event.errors == []


def test_an_empty_yard_is_an_empty_calendar(boss):
    assert list(Calendar.from_ical(read(made(boss)).content).walk("VEVENT")) == []


@pytest.mark.parametrize(
    "columns",
    [
        {"stage": "after-care", "promised_for": day(1)},
        {"state": "on hold", "state_reason": "no coil", "booked_for": day(1)},
        {"state": "abandoned", "state_reason": "sold", "booked_for": day(1)},
    ],
)
def test_what_is_not_to_do_is_in_no_calendar(boss, columns):
    car("KLM 1", **columns)
    assert events(made(boss)) == {}


def test_the_book_keeps_only_the_hash_of_an_address(boss):
    token = made(boss)
    assert token not in str(list(CalendarFeed.objects.values_list()))
    assert token not in str(list(TrailEntry.objects.values_list()))
    assert len(token) >= 32


def test_an_address_ends_when_it_is_withdrawn_and_when_its_person_leaves(boss, mechanic):
    yard, own = made(boss), made(boss, person=mechanic)
    actions.withdraw_feed(feed=CalendarFeed.objects.get(person=None), actor=boss)
    Staff.objects.filter(pk=mechanic.pk).update(is_active=False)
    assert [read(token).status_code for token in (yard, own)] == [404, 404]


def test_an_address_ends_when_whoever_was_shown_it_leaves(boss, mechanic):
    yard, own = made(boss, with_names=True), made(boss, person=mechanic)
    Staff.objects.filter(pk=boss.person.pk).update(is_active=False)
    assert [read(token).status_code for token in (yard, own)] == [404, 404]


def test_nobody_withdraws_another_person_s_calendar_but_the_owner(boss, mechanic, second_mechanic, planner):
    made(boss, person=mechanic)
    with pytest.raises(actions.FeedRefusedError):
        actions.withdraw_feed(feed=CalendarFeed.objects.get(), actor=Actor(person=second_mechanic, at=planner.at))


@pytest.mark.parametrize("token", ["x", "0" * 32, "%00", "ä"])
def test_an_address_that_was_never_made_opens_nothing(workshop, token):
    assert Client().get(f"/calendar/{token}.ics").status_code == 404


def test_a_feed_is_kept_by_nobody_on_the_way_found_by_no_search_and_writes_nothing(boss):
    token = made(boss)
    answer = read(token)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert "no-store" in answer["Cache-Control"]
    assert answer["X-Robots-Tag"] == "noindex, nofollow"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert not answer.cookies
    assert Client().post(reverse("week:feed", args=[token])).status_code == 405


def test_the_address_is_shown_once_and_the_page_withdraws_it(browser_of, owner):
    client, page = browser_of(owner), reverse("week:feeds")
    client.post(page, {"person": "", "idempotency_key": uuid.uuid4()})
    first, second = client.get(page).content.decode(), client.get(page).content.decode()
    assert "/calendar/" in first
    assert "/calendar/" not in second
    client.post(reverse("week:withdraw-feed", args=[CalendarFeed.objects.get().pk]))
    assert CalendarFeed.objects.get().revoked_at


def test_a_form_sent_twice_makes_one_address(boss):
    key = uuid.uuid4()
    values = {"person": None, "with_names": False, "idempotency_key": key, "actor": boss}
    assert actions.make_feed(**values)
    assert actions.make_feed(**values) is None
    assert Job.objects.count() == 0
