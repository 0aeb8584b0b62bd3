"""The second check in one gesture: a colleague's PIN beside the item; whoever fills in the sheet stays signed in."""

import pytest
from django.contrib.auth.hashers import make_password
from playwright.sync_api import expect

from garage.people.models import Workshop
from jobs.checklists.models import Confirmation
from tests.browser.conftest import LANDSCAPE, session_of
from tests.browser.test_fitting_filling import Thumb, all_sent, dock, line, opened
from tests.checklists.factories import sheet_with

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PLAY = {"key": "play", "kind": "measure", "text": "Free play", "unit": "mm", "high": 0.5, "decimals": 1,
        "second_person": True, "hold_point": True}  # fmt: skip


@pytest.fixture
def colleague(second_mechanic):
    second_mechanic.bench_pin = make_password("2468")
    second_mechanic.save()
    return second_mechanic


@pytest.fixture
def page(tablet, live_server, mechanic, colleague, workshop):
    sheet = sheet_with([PLAY, {"key": "wire"}], person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic), LANDSCAPE), sheet)
    page.get_by_label("Free play, in mm").fill("0.2")
    Thumb(page).tap(page.get_by_role("button", name="Save"))
    all_sent(page)
    return page


def test_name_pin_and_one_tap_and_the_sheet_goes_on(page, mechanic, colleague):
    where = page.url
    expect(dock(page).get_by_label("PIN")).to_be_visible()
    dock(page).get_by_label("PIN").fill("2468")
    dock(page).get_by_role("button", name="Second check").tap()
    expect(line(page, "play")).to_contain_text("second check: Tam Okoro")
    expect(dock(page).get_by_role("heading")).to_have_text("Wire")
    assert page.url.split("#")[0] == where.split("#")[0]
    expect(page.get_by_role("banner")).to_contain_text(mechanic.name)
    assert Confirmation.objects.get().by == colleague


def test_a_wrong_pin_is_said_beside_it_and_typed_again(page, colleague):
    dock(page).get_by_label("PIN").fill("1111")
    dock(page).get_by_role("button", name="Second check").tap()
    expect(dock(page)).to_contain_text("Wrong PIN.")
    expect(dock(page).get_by_label("PIN")).to_have_value("")
    dock(page).get_by_label("PIN").fill("2468")
    dock(page).get_by_role("button", name="Second check").dblclick()
    expect(line(page, "play")).to_contain_text("second check: Tam Okoro")
    assert Confirmation.objects.count() == 1


def test_without_a_network_it_says_that_a_pin_needs_it(page):
    expect(dock(page).get_by_label("PIN")).to_be_visible()
    page.context.set_offline(True)
    dock(page).get_by_label("PIN").fill("2468")
    dock(page).get_by_role("button", name="Second check").tap()
    expect(dock(page)).to_contain_text("A PIN needs the network.")


def test_whoever_is_alone_is_led_to_read_again(page):
    Workshop.objects.update(works_alone=True)
    dock(page).get_by_role("link", name="I am alone: read again").tap()
    expect(page.get_by_role("heading", name="Free play")).to_be_visible()
    expect(page.get_by_text("The first figure is not shown here.")).to_be_visible()
    expect(page.get_by_label("Measured")).to_have_value("")
