"""The map bench reads the sheets: what was measured on the car stands there, and leads to where it was entered."""

import re
import uuid

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.conftest import DESK, LANDSCAPE, session_of
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import MapVersionFactory
from tests.maps.test_car_values import FITTING, INSPECTION

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHONE = {"width": 390, "height": 844}
RAMP = {"vacuum_scheme": "ramp", "vacuum_start_kpa": 10.0, "vacuum_full_kpa": 40.0, "vacuum_full_deg": 12.0}


@pytest.fixture
def draft(workshop, mechanic):
    """A four on 12 V, inspected and half fitted: its pipe is on the throttle port, its edge not yet read."""
    vehicle = VehicleFactory(
        system_volts=12, engine__cylinders=4, engine__idle_rpm=800, engine__red_line_rpm=6000,
        coil__inductance_mh=8.0, coil__has_ballast=True,
    )  # fmt: skip
    job = JobFactory(stage="map", vehicle=vehicle)
    inspection = sheet_with(INSPECTION, person=mechanic, job=job, kind="inspection")
    for key, volts in (("battery-12", 12.55), ("cranking-12", 10.2), ("charging-12", 13.9)):
        enter(inspection, key, mechanic, measure=volts)
    enter(inspection, "coil-primary", mechanic, measure=1.62, beside=40.0)
    enter(inspection, "ballast-resistance", mechanic, measure=1.5)
    enter(inspection, "idle-vacuum", mechanic, measure=60.0, unit="kPa")
    fitting = sheet_with(FITTING, person=mechanic, job=job)
    enter(fitting, "vacuum-source", mechanic, choice="throttle port")
    enter(fitting, "ballast-by-pass", mechanic)
    return MapVersionFactory(job=job, dwell_ms=3.5, **RAMP)


def at_the_bench(page: Page, draft) -> Page:
    page.goto(f"/jobs/{draft.job.code}/map/{draft.number}/")
    return page


def row(page: Page, label: str):
    return page.locator(".car-values > div").filter(has=page.locator("dt").get_by_text(label, exact=True))


def test_the_bench_shows_this_car_s_figures_and_leads_to_where_each_was_entered(tablet, live_server, mechanic, draft):
    page = at_the_bench(tablet(live_server.url, session_of(mechanic), LANDSCAPE), draft)
    expect(row(page, "Charging")).to_contain_text("13.90 V")
    # By hand: 1.62 at 40 °C is 1.62 / 1.0786 = 1.502 at 20 °C, and 1.1965 times that, 1.80, at 70 °C (handbook, 10).
    expect(row(page, "Coil primary")).to_contain_text("1.62 ohm at 40 °C")
    expect(row(page, "Coil primary")).to_contain_text("1.50 ohm at 20 °C, 1.80 ohm at 70 °C")
    expect(row(page, "By-pass while cranking")).to_contain_text("works")
    expect(row(page, "Vacuum pipe on")).to_contain_text("throttle port")
    expect(page.locator("#map-form").locator("..")).to_contain_text("throttle port, which has no vacuum at idle")
    dwell = page.locator("section", has=page.get_by_role("heading", name="Dwell budget"))
    expect(dwell).to_contain_text("Voltages as measured on this car.")
    row(page, "Charging").get_by_role("link", name="Inspection sheet").tap()
    expect(page).to_have_url(re.compile(rf"/jobs/{draft.job.code}/inspection/sheet/#item-charging-12$"))
    expect(page.locator("#item-charging-12")).to_be_in_viewport()


def test_a_missing_figure_is_entered_where_the_bench_sends_one_and_stands_there_at_once(
    tablet, live_server, mechanic, draft
):
    page = at_the_bench(tablet(live_server.url, session_of(mechanic), LANDSCAPE), draft)
    expect(row(page, "Trigger edge")).to_contain_text("not entered")
    note = page.locator(".finding", has_text="Not recorded: where the trigger's edge comes")
    expect(note.get_by_role("link", name="Enter")).to_be_visible()
    row(page, "Trigger edge").get_by_role("link", name="Enter: fitting sheet").tap()
    expect(page.locator("#item-trigger-edge")).to_be_in_viewport()
    page.goto(f"/jobs/{draft.job.code}/sheet/fitting/items/trigger-edge/")
    page.locator(".entry-form input[type=text]").first.fill("20")
    with page.expect_navigation():
        page.get_by_role("button", name="Save", exact=True).tap()
    at_the_bench(page, draft)
    expect(row(page, "Trigger edge")).to_contain_text("20.0° BTDC")
    expect(page.locator(".finding", has_text="Not recorded: where the trigger's edge comes")).to_have_count(0)


@pytest.mark.parametrize("glass", [DESK, LANDSCAPE, PHONE], ids=lambda glass: f"{glass['width']}x{glass['height']}")
def test_the_figures_of_the_car_fit_every_screen_and_put_up_no_barrier(tablet, live_server, mechanic, draft, glass):
    page = at_the_bench(tablet(live_server.url, session_of(mechanic), glass), draft)
    expect(row(page, "Trigger edge")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), "nothing is cut off at the side"
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()


def test_a_reading_in_distributor_degrees_is_asked_about_before_it_is_saved(tablet, live_server, mechanic, draft):
    from django.utils import timezone

    from garage.record.actor import Actor
    from jobs.strobe.actions import begin_base_session
    from jobs.strobe.models import StrobeReading

    actor = Actor(person=mechanic, at=timezone.now())
    session = begin_base_session(
        job=draft.job, base_deg=16.0, idempotency_key=uuid.uuid4(), actor=actor, lamp="dial_back"
    )
    page = tablet(live_server.url, session_of(mechanic), LANDSCAPE)
    page.goto(f"/jobs/{draft.job.code}/strobe/{session.pk}/")
    expect(page.get_by_text("set the dial to 0")).to_be_visible()
    expect(page.locator("[data-strobe][data-live]")).to_be_attached()
    page.get_by_label("Speed").fill("2000")
    page.get_by_label("Strobe reads").fill("8")
    page.get_by_role("button", name="Add reading").tap()
    expect(page.get_by_role("alert").filter(has_text="about half of the 16.0° expected")).to_be_visible()
    expect(page.locator("[data-status]")).to_contain_text("1 question to answer")
    expect(page.get_by_role("button", name="Save as typed, 8° BTDC")).to_be_visible()
    assert not StrobeReading.objects.exists()
    page.get_by_role("button", name="Save 16° BTDC").tap()
    expect(page.get_by_role("row", name=re.compile("2000.*16° BTDC"))).to_be_visible()
    assert StrobeReading.objects.get().measured_deg == 16.0
