"""A car is moved on the week with the mouse, by finger and with the keys; each sends what the form would send."""

from datetime import timedelta

import pytest
from django.conf import settings
from django.utils import timezone
from playwright.sync_api import expect

from jobs.models import Job
from tests.browser.conftest import DESK, LANDSCAPE, session_of
from tests.factories import JobFactory, VehicleFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def monday():
    """The Monday after this week: none of its days is over."""
    today = timezone.localdate()
    return today + timedelta(days=7 - today.weekday())


@pytest.fixture
def coming(monday, mechanic, second_mechanic):
    return JobFactory(
        vehicle=VehicleFactory(registration="KLM 204 B"), booked_for=monday, promised_for=monday + timedelta(days=2),
        mechanic=mechanic,
    )  # fmt: skip


def cell(page, day, person):
    return page.locator(f'td[data-day="{day}"][data-person="{person.pk}"]')


def open_week(page, monday, person):
    page.goto(f"/week/?from={monday}")
    return cell(page, monday + timedelta(days=2), person).locator(".week-grip")


def plan_of(job):
    job = Job.objects.get(pk=job.pk)
    return job.booked_for, job.promised_for, job.mechanic


def expect_moved_to(page, job, day, person):
    expect(cell(page, day, person).locator(".week-card")).to_contain_text("KLM 204 B")
    assert plan_of(job)[1:] == (day, person)


def middle(box):
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_with_the_mouse_to_another_day_and_person(
    chromium, live_server, front_desk, coming, monday, mechanic, second_mechanic
):
    context = chromium.new_context(viewport=DESK, locale="en-GB", base_url=live_server.url)
    context.add_cookies(
        [{"name": settings.SESSION_COOKIE_NAME, "value": session_of(front_desk), "url": live_server.url}]
    )
    page = context.new_page()
    grip = open_week(page, monday, mechanic)
    page.mouse.move(*middle(grip.bounding_box()))
    page.mouse.down()
    page.mouse.move(*middle(cell(page, monday + timedelta(days=4), second_mechanic).bounding_box()), steps=5)
    page.mouse.up()
    expect_moved_to(page, coming, monday + timedelta(days=4), second_mechanic)
    context.close()


def test_by_finger_to_another_day(tablet, live_server, front_desk, coming, monday, mechanic):
    page = tablet(live_server.url, session_of(front_desk), LANDSCAPE)
    grip = open_week(page, monday, mechanic)
    grip.scroll_into_view_if_needed()
    target = cell(page, monday + timedelta(days=3), mechanic)
    (x, y), (to_x, to_y) = middle(grip.bounding_box()), middle(target.bounding_box())
    finger = page.context.new_cdp_session(page)
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for part in (0.3, 0.7, 1):
        points = [{"x": x + (to_x - x) * part, "y": y + (to_y - y) * part}]
        finger.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": points})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect_moved_to(page, coming, monday + timedelta(days=3), mechanic)


def test_with_the_keys_and_escape_leaves_it_where_it_was(tablet, live_server, front_desk, coming, monday, mechanic):
    page = tablet(live_server.url, session_of(front_desk), LANDSCAPE)
    grip = open_week(page, monday, mechanic)
    grip.focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Escape")
    expect(page.locator("[data-moving-said]")).to_have_text("Left where it was")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    expect(page.locator("[data-moving-said]")).to_contain_text("Ines Marlow, Friday")
    page.keyboard.press("Enter")
    expect_moved_to(page, coming, monday + timedelta(days=4), mechanic)


def test_what_forbids_the_move_is_said_on_the_form(tablet, live_server, front_desk, coming, monday, mechanic):
    page = tablet(live_server.url, session_of(front_desk), LANDSCAPE)
    page.goto(f"/week/?from={monday}")
    cell(page, monday, mechanic).locator(".week-grip").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("Promised before the car comes in.")
    assert plan_of(coming)[0] == monday
