"""A sheet gets out of the way: the next open item in front, one section on screen, the car in sight all the time."""

import pytest
from django.conf import settings
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import LANDSCAPE, PORTRAIT, session_of
from tests.browser.test_fitting_filling import Thumb, dock, line, opened
from tests.checklists.factories import enter, every_kind, sheet_with, whole_sheet

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHONE = {"width": 390, "height": 844}


@pytest.fixture
def sheet(mechanic):
    return sheet_with(every_kind(), person=mechanic)


def section(page: Page, title: str) -> Locator:
    return page.locator(f'details[data-section="{title}"]')


def is_open(page: Page) -> list[str]:
    return [found.get_attribute("data-section") for found in page.locator("details[data-section][open]").all()]


@pytest.mark.parametrize("glass", [LANDSCAPE, PHONE], ids=["tablet", "phone"])
def test_after_a_tick_the_next_item_comes_up_and_the_section_that_is_done_folds(
    tablet, live_server, mechanic, sheet, glass
):
    page = opened(tablet(live_server.url, session_of(mechanic), glass), sheet)
    expect(dock(page).get_by_role("heading")).to_have_text("Battery isolated")
    expect(dock(page)).to_contain_text("Stop here until this passes")
    assert is_open(page) == ["Before you start"]
    Thumb(page).tap(page.get_by_role("button", name="Tick: done"))
    expect(dock(page).get_by_role("heading")).to_have_text("Coil primary at 20 °C")
    expect(dock(page).get_by_role("heading")).to_be_in_viewport()
    assert is_open(page) == ["Coil"]
    expect(section(page, "Before you start").locator("summary")).to_contain_text("1 done")
    expect(line(page, "battery-isolated")).to_be_hidden()
    undo = dock(page).get_by_role("button", name="Undo")
    expect(undo).to_be_in_viewport()
    Thumb(page).tap(undo)
    expect(dock(page).get_by_role("heading")).to_have_text("Battery isolated")


def test_a_folded_section_opens_at_a_tap_and_the_other_one_folds(tablet, live_server, mechanic, sheet):
    enter(sheet, "battery-isolated", mechanic, note="clock lead too")
    page = opened(tablet(live_server.url, session_of(mechanic), LANDSCAPE), sheet)
    assert is_open(page) == ["Coil"]
    section(page, "Before you start").locator("summary").tap()
    expect(line(page, "battery-isolated")).to_contain_text("‘clock lead too’")
    expect(line(page, "battery-isolated").get_by_role("button")).to_be_visible()
    assert is_open(page) == ["Before you start"]
    expect(dock(page).get_by_role("heading")).to_have_text("Coil primary at 20 °C")  # nothing else was taken in hand


@pytest.mark.parametrize("glass", [LANDSCAPE, PORTRAIT, PHONE], ids=["landscape", "portrait", "phone"])
def test_the_plate_and_the_ways_back_stay_in_sight_to_the_end_of_the_sheet(tablet, live_server, mechanic, glass):
    sheet = sheet_with(whole_sheet(), person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic), glass), sheet)
    bar = page.locator(".sheet-bar")
    plate = bar.get_by_text(sheet.job.vehicle.registration, exact=True)
    page.evaluate("() => scrollTo(0, document.documentElement.scrollHeight)")
    expect(plate).to_be_in_viewport(ratio=1)
    bar.get_by_role("link", name="Hold point").tap()
    expect(dock(page).get_by_role("heading")).to_have_text("Item 09")
    expect(dock(page).get_by_role("heading")).to_be_in_viewport()
    bar.get_by_role("link", name="Sections").tap()
    expect(section(page, "Part 1").locator("summary")).to_be_in_viewport()
    expect(plate).to_be_in_viewport(ratio=1)


def test_without_script_sections_open_and_each_item_leads_to_its_page(chromium, live_server, mechanic, sheet):
    context = chromium.new_context(java_script_enabled=False, viewport=LANDSCAPE, has_touch=True, is_mobile=True)
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session_of(mechanic), "url": live_server.url}])
    page = context.new_page()
    page.goto(f"{live_server.url}/jobs/{sheet.job.code}/fitting/")
    dock(page).get_by_role("link", name="Enter").tap()
    page.get_by_role("button", name="Tick: done").tap()
    expect(dock(page).get_by_role("heading")).to_have_text("Coil primary at 20 °C")
    section(page, "Wiring").locator("summary").tap()
    line(page, "routed").get_by_role("link").tap()
    expect(page.get_by_role("heading", name="Routed clear of hot and high-tension parts")).to_be_visible()
    context.close()
