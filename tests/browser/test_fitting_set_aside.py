"""One entry at which the workshop's computer fails every time must not keep back what else was entered."""

import time
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, Request, expect

from tests.browser.test_fitting_filling import unfolded, violations
from tests.browser.test_fitting_offline import (
    all_sent,
    in_hand,
    line,
    on,
    reloaded_past_the_warning,
    scene,
    status,
    ticked,
    typed,
    written,
)
from tests.checklists.factories import photograph

pytestmark = pytest.mark.browser
__all__ = ["scene"]  # a fixture


def fails_at(page: Page, is_bad: Callable[[Request], bool], answer: int = 500) -> list[str]:
    """The server fails at those messages and takes all others. Gives back one address for each failure."""
    failed: list[str] = []

    def answered(route: Any) -> None:
        if not is_bad(route.request):
            return route.fallback()
        failed.append(route.request.url)
        return route.fulfill(status=answer, body="No.")

    page.route("**/send/", answered)
    return failed


def is_coil_of(figure: float) -> Callable[[Request], bool]:
    return lambda request: is_entry(request) and request.post_data_json.get("measure") == figure


def is_entry(request: Request) -> bool:
    return request.headers["content-type"] == "application/json"


def recorded(server) -> list[tuple]:
    return server.rows(
        "SELECT i.key, e.measure, before.measure FROM jobs_entry e JOIN jobs_checklistitem i ON i.id = e.item_id "
        "LEFT JOIN jobs_entry before ON before.id = e.supersedes_id ORDER BY e.received_at"
    )


def expect_recorded(page: Page, server, rows: list[tuple]) -> None:
    """Waits until the server has these entries and no others: what follows in the queue is sent after the answer."""
    for _ in range(100):
        if recorded(server) == rows:
            return
        page.wait_for_timeout(100)
    assert recorded(server) == rows


def aside(page: Page):
    return page.locator(".sheet-apart")


def set_aside(page: Page, words: str = "Set aside and send the rest") -> None:
    page.get_by_role("button", name=words).tap(timeout=20_000)
    expect(status(page)).to_contain_text("1 entry set aside")


def found_sound(page: Page) -> None:
    in_hand(page, "Cap and rotor arm")
    page.get_by_role("button", name="sound", exact=True).tap()


def measured_anew(page: Page, words: str) -> None:
    unfolded(page, "coil-primary").locator("[data-open]").tap()
    typed(page, "Coil primary at 20 °C", words)


BATTERY, CAP, FUSE = (("battery-isolated", None, None), ("cap", None, None), ("fuse", None, None))


@pytest.fixture
def page(tablet, server, scene):
    """The mechanic's tablet, the hold point before the coil dealt with."""
    page = on(scene, tablet, server, "mechanic")
    ticked(page, "Battery isolated")
    all_sent(page)
    return page


def test_what_the_server_fails_at_is_set_aside_and_the_rest_goes_in_its_order(page, server):
    fails_at(page, is_coil_of(1.5))
    typed(page, "Coil primary at 20 °C", "1.5")
    found_sound(page)
    written(page, "Fuse: rating and where it sits", "8 A, by the battery")
    expect(aside(page)).to_contain_text("answers with an error each time", timeout=20_000)
    expect_recorded(page, server, [BATTERY])
    page.set_viewport_size({"width": 820, "height": 600})
    page.evaluate("() => scrollTo(0, document.documentElement.scrollHeight)")
    expect(page.get_by_role("button", name="Set aside and send the rest")).not_to_be_in_viewport()
    page.get_by_role("button", name="Show").tap()
    expect(page.get_by_role("button", name="Set aside and send the rest")).to_be_in_viewport(ratio=1)
    assert violations(page) == []
    set_aside(page)
    assert violations(page) == []
    expect(status(page)).not_to_contain_text("not sent yet")
    expect_recorded(page, server, [BATTERY, CAP, FUSE])
    expect(aside(page)).to_contain_text("Coil primary at 20 °C: 1.5 ohm")
    expect(line(page, "coil-primary")).to_contain_text("set aside, see above")
    assert reloaded_past_the_warning(page) == ["beforeunload"]
    expect(aside(page)).to_contain_text("Tell the owner")
    page.unroute_all()
    aside(page).get_by_role("button", name="Send again").tap()
    all_sent(page)
    expect_recorded(page, server, [BATTERY, CAP, FUSE, ("coil-primary", 1.5, None)])


def test_what_was_set_aside_and_fails_again_is_offered_to_be_set_aside_again(page, server):
    fails_at(page, is_coil_of(1.5))
    typed(page, "Coil primary at 20 °C", "1.5")
    found_sound(page)
    set_aside(page)
    aside(page).get_by_role("button", name="Send again").tap()
    set_aside(page, "Set entry aside")
    expect_recorded(page, server, [BATTERY, CAP])


def test_a_correction_is_not_sent_before_what_it_corrects(page, server):
    fails_at(page, is_coil_of(1.5))
    typed(page, "Coil primary at 20 °C", "1.5")
    measured_anew(page, "1.45")
    found_sound(page)
    set_aside(page)
    expect(status(page)).to_contain_text("1 entry waits behind it")
    expect(aside(page)).to_contain_text("1 entry waits behind it")
    expect_recorded(page, server, [BATTERY, CAP])
    page.unroute_all()
    aside(page).get_by_role("button", name="Send again").tap()
    all_sent(page)
    expect_recorded(page, server, [BATTERY, CAP, ("coil-primary", 1.5, None), ("coil-primary", 1.45, 1.5)])


def test_what_was_set_aside_is_dropped_only_when_asked_twice_and_its_correction_goes_then(page, server):
    fails_at(page, is_coil_of(1.5))
    typed(page, "Coil primary at 20 °C", "1.5")
    measured_anew(page, "1.45")
    set_aside(page, "Set entry aside")
    aside(page).get_by_role("button", name="Discard entry").tap()
    aside(page).get_by_role("button", name="Discard for good").tap()
    all_sent(page)
    expect_recorded(page, server, [BATTERY, ("coil-primary", 1.45, None)])


def test_a_photograph_set_aside_keeps_back_no_correction_of_the_entry_it_belongs_to(page, server):
    typed(page, "Coil primary at 20 °C", "1.5")
    all_sent(page)
    fails_at(page, lambda request: not is_entry(request))
    unfolded(page, "coil-primary").locator("[data-open]").tap()
    in_hand(page, "Coil primary at 20 °C")
    picture = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photograph()}
    page.locator("[data-dock] .dock-more input[type=file]").set_input_files(picture)
    expect(line(page, "coil-primary").locator("img")).to_be_visible()
    measured_anew(page, "1.45")
    set_aside(page)
    expect(line(page, "coil-primary")).not_to_contain_text("not sent yet")
    expect_recorded(page, server, [BATTERY, ("coil-primary", 1.5, None), ("coil-primary", 1.45, 1.5)])


def test_what_comes_after_a_hold_point_waits_with_its_answer_instead_of_being_refused(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    ids: list[str] = []

    def is_first_answer(request: Request) -> bool:
        said = request.post_data_json
        if said["item"] != "battery-isolated":
            return False
        ids.append(said["id"])
        return said["id"] == ids[0]

    fails_at(page, is_first_answer)
    ticked(page, "Battery isolated")
    typed(page, "Coil primary at 20 °C", "1.5")
    set_aside(page, "Set entry aside")
    expect(status(page)).to_contain_text("1 entry waits behind it")
    # Ticked anew, it is taken; what was entered before it still builds on the first.
    unfolded(page, "battery-isolated").get_by_role("button").tap()
    expect(line(page, "battery-isolated")).to_contain_text("Ines Marlow")
    expect(line(page, "battery-isolated")).not_to_contain_text("not sent yet")
    expect_recorded(page, server, [BATTERY])
    aside(page).get_by_role("button", name="Discard entry").tap()
    aside(page).get_by_role("button", name="Discard for good").tap()
    all_sent(page)
    expect_recorded(page, server, [BATTERY, ("coil-primary", 1.5, None)])


def test_a_server_that_does_not_answer_is_no_reason_to_set_anything_aside(page, server):
    failed = fails_at(page, is_coil_of(1.5), answer=503)
    typed(page, "Coil primary at 20 °C", "1.5")
    deadline = time.monotonic() + 40
    while len(failed) < 8 and time.monotonic() < deadline:
        page.wait_for_timeout(200)
    assert len(failed) >= 8
    expect(status(page)).to_contain_text("does not answer")
    expect(aside(page)).to_have_count(0)
