"""The rotor page in the hands of a mechanic, before and after the remedy, for every place a trigger may sit.

The worked car: handbook, section 7. Edge and base timing 8, range 8 to 40: 8 distributor degrees, on a rim of 64 mm
4.5 mm.
"""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.conftest import DESK, LANDSCAPE, session_of
from tests.fitting.rotor_cars import CONTACTS, CRANK, FOUR, job_with, mapped, measured

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHONE = {"width": 390, "height": 844}
GLASSES = [pytest.param(glass, id=f"{glass['width']}x{glass['height']}") for glass in (DESK, LANDSCAPE, PHONE)]
HALL = CONTACTS | {"trigger": "hall", "trigger_place": "distributor", "rotation": "anticlockwise"}


def car(kind, mechanic):
    """A car of this kind in the fitting, its map drafted and its sheet begun; measured as the factory left it."""
    match kind:
        case "contacts":
            job = job_with(**FOUR, **CONTACTS)
            figures = {"tip_at_edge": 0.0}
        case "hall":
            job = job_with(**FOUR, **HALL)
            figures = {"tip_at_edge": 0.0}
        case "crank":
            job = job_with(**FOUR, **CRANK)
            figures = {"rotor_in_line_at": 8.0}
        case _:
            job, figures = job_with(cylinders=1, trigger="contact breaker"), {}
    mapped(job, 8, 40)
    measured(job, mechanic, **figures)
    return job


def opened(page: Page, job) -> Page:
    page.goto(f"/jobs/{job.code}/fitting/rotor/")
    return page


def fits_and_is_sound(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), "nothing is cut off at the side"
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


REMEDIES = {
    "contacts": [
        "Move the plate or pick-up 8.0 distributor degrees (4.5 mm) with the turn of the rotor, clockwise.",
        "Then turn the body 8.0 distributor degrees (4.5 mm) against the turn of the rotor, anticlockwise.",
        "That brings the edge back to 8° BTDC.",
    ],
    "hall": [
        "Move the plate or pick-up 8.0 distributor degrees (4.5 mm) with the turn of the rotor, anticlockwise.",
        "Then turn the body 8.0 distributor degrees (4.5 mm) against the turn of the rotor, clockwise.",
        "That brings the edge back to 8° BTDC.",
    ],
    "crank": [
        "Turn the body 8.0 distributor degrees (4.5 mm) against the turn of the rotor, anticlockwise.",
        "Check: with cylinder 1 at 24° BTDC, firing stroke, the tip points at its terminal.",
    ],
}
AFTER = {"contacts": ("tip at edge", "-4.5"), "hall": ("tip at edge", "-4.5"), "crank": ("rotor in line at", "24")}


@pytest.mark.parametrize("glass", GLASSES)
@pytest.mark.parametrize("kind", REMEDIES)
def test_out_of_line_the_page_says_what_to_move_and_measured_again_it_holds(tablet, live_server, mechanic, kind, glass):
    page = opened(tablet(live_server.url, session_of(mechanic), glass), car(kind, mechanic))
    expect(page.get_by_text("out of line", exact=True)).to_be_visible()
    steps = page.locator("section:has(#remedy) > ol > li").all_inner_texts()
    assert steps == [*REMEDIES[kind], "Measure again and enter the figures below."]
    drawing = page.locator("svg.chart-phasing:visible")
    expect(drawing).to_have_count(1)
    headings = drawing.locator("text.chart-name").all_text_contents()
    assert [re.match("now|after", heading).group() for heading in headings] == ["now", "now", "after", "after"]
    fits_and_is_sound(page)
    label, figure = AFTER[kind]
    page.get_by_role("textbox", name=label).fill(figure)
    page.get_by_role("button", name="Save").tap()
    expect(page.get_by_text("aligned at both ends")).to_be_visible()
    expect(page.locator("#remedy")).to_have_count(0)
    expect(page.locator("svg.chart-phasing:visible text.chart-name")).to_have_count(2)
    fits_and_is_sound(page)


@pytest.mark.parametrize("glass", GLASSES)
def test_a_single_without_a_rotor_has_nothing_to_bring_into_line(tablet, live_server, mechanic, glass):
    page = opened(tablet(live_server.url, session_of(mechanic), glass), car("single", mechanic))
    expect(page.get_by_text("This engine has no rotor and cap")).to_be_visible()
    expect(page.locator("svg.chart-phasing")).to_have_count(0)
    fits_and_is_sound(page)


def test_what_does_not_help_is_said_where_the_trigger_sits_in_the_distributor(tablet, live_server, mechanic):
    page = opened(tablet(live_server.url, session_of(mechanic)), car("contacts", mechanic))
    expect(page.get_by_role("heading", name="What does not help")).to_be_visible()
    expect(page.get_by_text("Locking the weights at another angle does not help")).to_be_visible()
    others = page.locator("details", has_text="Other ways")
    expect(others.get_by_text("Re-index the rotor")).to_be_hidden()
    others.get_by_text("Other ways").tap()
    expect(others.get_by_text("Re-index the rotor")).to_be_visible()
