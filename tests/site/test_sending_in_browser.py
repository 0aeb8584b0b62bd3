"""A plain form on a bad network: nothing typed is lost, and saving again saves once."""

import pytest
from playwright.sync_api import expect

from tests.site import look_urls
from tests.site.test_look_in_browser import PHONE, TABLET, page_for, pytestmark

__all__ = ["page_for", "pytestmark"]

SAVE = "#plain button"
WORDS = "carburettor flange cracked"


def opened(page_for, size=TABLET):
    page = page_for(size)
    page.goto("/try/")
    return page


def stored():
    return [words for words, _, _ in look_urls.plain]


def save_and_fail(page):
    """The workshop computer answers when it is asked, and no more when the form comes."""
    with page.expect_event("requestfailed"):
        page.click(SAVE)
    expect(page.locator("#words")).to_have_count(0)


def expect_saved(page):
    """The page that follows a sending begins with an empty box."""
    expect(page.locator("#words")).to_have_value("")


def test_without_a_network_the_page_stays_says_so_and_can_be_sent_again(page_for):
    page = opened(page_for, PHONE)
    page.fill("#words", WORDS)
    page.context.set_offline(True)
    page.locator(SAVE).dblclick()
    expect(page.locator("#connection")).to_contain_text("did not answer")
    expect(page.locator("#connection")).to_be_in_viewport()
    expect(page.locator("#words")).to_have_value(WORDS)
    assert stored() == []
    page.context.set_offline(False)
    page.click(SAVE)
    expect_saved(page)
    assert [(words, button) for words, _, button in look_urls.plain] == [(WORDS, "1")]


def test_a_workshop_computer_that_is_down_is_noticed_as_the_finger_goes_down(page_for):
    page = opened(page_for)
    page.fill("#words", WORDS)
    page.wait_for_load_state("networkidle")
    page.route("**/*", lambda route: route.abort())
    with page.expect_event("requestfailed"):
        page.locator(SAVE).dispatch_event("pointerdown")
    page.click(SAVE)
    expect(page.locator("#connection")).to_contain_text("did not answer")
    expect(page.locator("#words")).to_have_value(WORDS)
    page.unroute("**/*")
    page.click(SAVE)
    expect_saved(page)
    assert stored() == [WORDS]


def test_a_double_tap_sends_it_once(page_for):
    page = opened(page_for)
    page.fill("#words", WORDS)
    page.locator(SAVE).dblclick()
    expect_saved(page)
    assert stored() == [WORDS]


@pytest.mark.parametrize("back", ["back button", "its address"])
def test_what_is_lost_on_the_way_is_in_the_form_again(page_for, back):
    page = opened(page_for)
    page.fill("#words", WORDS)
    page.route("**/try/plain/", lambda route: route.abort())
    save_and_fail(page)
    page.unroute("**/try/plain/")
    if back == "back button":
        page.go_back()
    else:
        page.goto("/try/")
    expect(page.locator("#words")).to_have_value(WORDS)
    expect(page.get_by_text("Restored what you typed here")).to_be_visible()
    page.click(SAVE)
    expect_saved(page)
    assert stored() == [WORDS]
    assert page.evaluate("() => Object.keys(sessionStorage).filter((k) => k.startsWith('crankmark'))") == []


@pytest.mark.parametrize(("more", "same"), [("", True), (" twice", False)])
def test_where_the_answer_was_lost_the_same_is_sent_as_the_same_and_another_as_another(page_for, more, same):
    page = opened(page_for)
    page.fill("#words", WORDS)

    def stored_but_unanswered(route):
        route.fetch()
        route.abort()

    page.route("**/try/plain/", stored_but_unanswered)
    save_and_fail(page)
    page.unroute("**/try/plain/")
    page.goto("/try/")
    page.fill("#words", WORDS + more)
    page.click(SAVE)
    expect_saved(page)
    (_, first, _), (_, second, _) = look_urls.plain
    assert (first == second) is same


def test_a_form_that_comes_back_refused_is_not_put_back_a_second_time(page_for):
    page = opened(page_for)
    page.fill("#words", "cracked")
    page.click(SAVE)
    expect(page.locator("#plain .field-error")).to_be_visible()
    page.goto("/try/")
    expect(page.locator("#words")).to_have_value("")


def test_a_way_taken_after_a_failed_sending_loses_nothing(page_for):
    page = opened(page_for)
    page.fill("#words", WORDS)
    page.context.set_offline(True)
    page.click(SAVE)
    expect(page.locator("#connection")).to_contain_text("did not answer")
    page.context.set_offline(False)
    page.get_by_role("link", name="Crankmark").first.click()
    page.wait_for_load_state("networkidle")
    page.goto("/try/")
    expect(page.locator("#words")).to_have_value(WORDS)


def test_the_same_said_twice_is_said_twice_also_where_the_browser_tells_nothing_of_its_way(page_for):
    """What was saved is never taken for what was lost: the second is a row of its own."""
    page = page_for(TABLET)
    page.add_init_script("performance.getEntriesByType = () => []")
    for _ in range(2):
        page.goto("/try/")
        page.fill("#words", WORDS)
        page.click(SAVE)
        expect_saved(page)
    (_, first, _), (_, second, _) = look_urls.plain
    assert first != second
