"""Figures on the tablet in the unit of the gauge, and what is read beside them."""

import pytest
from playwright.sync_api import expect

from garage.models import Staff
from jobs.checklists.models import Entry
from jobs.checklists.sheet import sheet_of
from tests.browser.conftest import session_of
from tests.browser.test_fitting_filling import Thumb, all_sent, dock, line, opened, unfolded
from tests.checklists.factories import enter, sheet_with

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

IDLE = {
    "key": "idle", "kind": "measure", "unit": "kPa", "quantity": "vacuum", "correction": "sea level", "low": 50,
    "high": 70, "decimals": 0,
}  # fmt: skip
COIL = {
    "key": "coil", "kind": "measure", "unit": "ohm", "correction": "20 °C", "low": 1.35, "high": 1.65, "decimals": 2,
}  # fmt: skip


def test_a_vacuum_is_typed_in_the_unit_of_the_gauge_and_judged_in_it(tablet, live_server, mechanic):
    """18 inHg is 60.955 kPa (NIST SP 811, B.8): in tolerance, where 18 kPa is far too low."""
    Staff.objects.filter(pk=mechanic.pk).update(vacuum_unit="inHg")
    sheet = sheet_with([IDLE, IDLE | {"key": "again", "section": "Warm"}], person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    thumb, verdict, unit = Thumb(page), page.locator(".dock-verdict"), dock(page).get_by_label("Unit")
    expect(unit).to_have_value("inHg")
    expect(verdict).to_contain_text("14.8 to 20.6 inHg")
    thumb.type("18")
    expect(verdict).to_contain_text("pass")
    unit.select_option("kPa")
    expect(verdict).to_contain_text("fail, low")
    expect(verdict).to_contain_text("50 to 70 kPa")
    unit.select_option("mmHg")
    expect(page.locator(".dock-figure input")).to_have_value("18")  # what is typed is never converted
    unit.select_option("inHg")
    thumb.tap(page.get_by_role("button", name="Save", exact=True))
    expect(line(page, "idle")).to_contain_text("18.0 inHg")
    expect(line(page, "idle")).to_contain_text("14.8 to 20.6 inHg")
    all_sent(page)
    entry = Entry.objects.get()
    assert (entry.measure, entry.unit) == (pytest.approx(60.954996, rel=1e-7), "inHg")
    page.reload()
    expect(line(page, "idle")).to_contain_text("18.0 inHg")


def test_the_unit_chosen_on_the_tablet_waits_for_the_next_figure_of_the_gauge(tablet, live_server, mechanic):
    sheet = sheet_with([IDLE, IDLE | {"key": "again", "section": "Warm"}], person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    thumb, unit = Thumb(page), dock(page).get_by_label("Unit")
    expect(unit).to_have_value("kPa")
    unit.select_option("mmHg")
    thumb.type("450")
    thumb.tap(page.get_by_role("button", name="Save", exact=True))
    expect(dock(page).get_by_role("heading")).to_have_text("Again")
    expect(unit).to_have_value("mmHg")


def test_a_note_beside_a_figure_leaves_it_as_it_was_read(tablet, live_server, mechanic):
    sheet = sheet_with([IDLE, COIL], person=mechanic)
    enter(sheet, "idle", mechanic, measure=60.954996, unit="inHg")
    enter(sheet, "coil", mechanic, measure=1.62, beside=52.0)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    for key in ("idle", "coil"):
        unfolded(page, key).locator("[data-open]").tap()
        dock(page).get_by_role("button", name="Note", exact=True).tap()
        dock(page).get_by_label("Note", exact=True).fill("needle steady")
        dock(page).get_by_role("button", name="Save note").tap()
        expect(line(page, key)).to_contain_text("needle steady")
    all_sent(page)
    idle, coil = (sheet_of(sheet).line(key).current for key in ("idle", "coil"))
    assert (idle.measure, idle.unit, idle.note) == (pytest.approx(60.954996), "inHg", "needle steady")
    assert (coil.measure, coil.beside, coil.note) == (1.62, 52, "needle steady")


def test_a_warm_coil_is_typed_with_its_temperature_and_corrected_on_the_spot(tablet, live_server, mechanic):
    """1.5 ohm is 1.8537 at 80 °C: copper by IEC 60028, handbook section 10."""
    sheet = sheet_with([COIL, {"key": "two"}], person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    thumb, verdict = Thumb(page), page.locator(".dock-verdict")
    thumb.type("1.8537")
    thumb.tap(page.get_by_role("button", name="Save", exact=True))
    expect(dock(page).get_by_role("alert")).to_contain_text("Enter the temperature in °C.")
    thumb.type("80")
    expect(verdict).to_contain_text("at 80 °C: 1.50 ohm at 20 °C")
    expect(verdict).to_contain_text("pass")
    thumb.tap(page.get_by_role("button", name="Save", exact=True))
    expect(line(page, "coil")).to_contain_text("at 80 °C: 1.50 ohm at 20 °C")
    all_sent(page)
    entry = Entry.objects.get()
    assert (entry.measure, entry.unit, entry.beside) == (1.8537, "ohm", 80)
