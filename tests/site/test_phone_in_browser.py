"""What a phone shows first: the cars of Today, the room one is in, and targets as high as a finger."""

import pytest
from playwright.sync_api import expect

from tests.factories import JobFactory, VehicleFactory
from tests.site.test_look_in_browser import DESK, PHONE, page_for, pytestmark

__all__ = ["page_for", "pytestmark"]

FINGER = 48  # [CSS pixels] the project's own least target, above the 44 of WCAG 2.2, 2.5.5 (AAA)


@pytest.fixture
def page(page_for):
    JobFactory(stage="fitting", vehicle=VehicleFactory(registration="ONE 1"))
    page = page_for(PHONE)
    page.goto("/")
    return page


def test_the_cars_of_today_come_before_the_boxes_that_choose_among_them(page):
    fold = page.locator(".week-filter-fold > summary")
    expect(fold).to_have_text("Showing everyone, every kind")
    assert fold.bounding_box()["height"] >= FINGER
    expect(page.get_by_label("Person")).to_be_hidden()
    expect(page.get_by_text("ONE 1")).to_be_in_viewport()
    fold.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.get_by_label("Person")).to_be_focused()
    assert page.get_by_role("button", name="Show").bounding_box()["height"] >= FINGER


def test_on_a_desk_the_boxes_stand_open(page_for):
    page = page_for(DESK)
    page.goto("/")
    expect(page.get_by_label("Person")).to_be_visible()
    expect(page.locator(".week-filter-fold > summary")).to_be_hidden()


def test_the_room_one_is_in_is_in_sight(page):
    page.goto("/learned/")
    expect(page.locator(".navigation [aria-current]")).to_have_text("Learned")
    expect(page.locator(".navigation [aria-current]")).to_be_in_viewport(ratio=1)
