"""What only a browser can show: nothing overflows, fingers hit, axe finds nothing, the scripts keep their word."""

from typing import Any

import pytest
from django.conf import settings as site
from playwright.sync_api import expect

from tests.site import look_urls

axe = pytest.importorskip("axe_playwright_python.sync_playwright")

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.urls("tests.site.look_urls"),
]

DESK: dict[str, Any] = {"viewport": {"width": 1440, "height": 900}}
TABLET: dict[str, Any] = {"viewport": {"width": 1024, "height": 768}, "has_touch": True, "is_mobile": True}
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
SIZES = {"desk": DESK, "tablet": TABLET, "phone": PHONE}


@pytest.fixture
def page_for(live_server, browser_of, mechanic, chromium) -> Any:
    """`page_for(TABLET)`: an empty page of that size, with the mechanic signed in."""
    session = browser_of(mechanic).cookies[site.SESSION_COOKIE_NAME].value
    look_urls.received.clear()
    look_urls.plain.clear()

    def opened(size: dict[str, Any], **more: Any) -> Any:
        context = chromium.new_context(base_url=live_server.url, **size, **more)
        context.add_cookies([{"name": site.SESSION_COOKIE_NAME, "value": session, "url": live_server.url}])
        return context.new_page()

    return opened


def complaints(page: Any) -> list[str]:
    """Whatever the browser says about the page; the policy's violations arrive here."""
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    return said


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_axe_finds_no_violation_on_the_style_page(page_for, size, scheme):
    page = page_for(SIZES[size], color_scheme=scheme)
    page.goto("/style/")
    found = axe.Axe().run(page).response["violations"]
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]]) for v in found] == []


@pytest.mark.parametrize("size", SIZES)
def test_the_page_never_scrolls_sideways_and_breaks_no_policy(page_for, size):
    page = page_for(SIZES[size])
    said = complaints(page)
    page.goto("/style/", wait_until="networkidle")
    assert page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
    assert said == []


def test_targets_are_as_high_as_a_finger_on_a_tablet(page_for):
    page = page_for(TABLET)
    page.goto("/style/")
    low = page.evaluate(
        """() => [...document.querySelectorAll("a, button, input, select, textarea, summary, label:has(input)")]
            .filter((e) => e.offsetParent && !e.matches("p *, li:has(> a + *) *, .error-summary *, .skip"))
            // the whole label of a tick is its target
            .filter((e) => !["checkbox", "radio"].includes(e.type))
            .filter((e) => e.getBoundingClientRect().height < 48)
            .map((e) => e.outerHTML.slice(0, 90))"""
    )
    assert low == []


def test_the_next_action_stands_under_the_thumb_on_a_tablet(page_for):
    page = page_for(TABLET)
    page.goto("/style/")
    box = page.get_by_role("link", name="Read strobe").bounding_box()
    assert 768 - 100 < box["y"] + box["height"] <= 768


def test_cautions_are_short_on_a_phone_whole_at_a_tap_and_always_whole_on_paper(page_for):
    page = page_for(PHONE)
    page.goto("/style/")
    cautions = page.locator(".cautions").first
    texts, names = cautions.locator(".caution-text"), cautions.locator("strong")
    # The first is read in full, the others at least by their names.
    assert [text.is_visible() for text in texts.all()] == [True, *[False] * (texts.count() - 1)]
    assert texts.count() > 1
    assert all(name.is_visible() for name in names.all())
    page.emulate_media(media="print")
    assert all(text.is_visible() for text in texts.all())
    page.emulate_media(media="screen")
    cautions.get_by_text("Read all cautions").click()
    assert all(text.is_visible() for text in texts.all())


def test_cautions_are_whole_on_a_tablet(page_for):
    page = page_for(TABLET)
    page.goto("/style/")
    assert all(text.is_visible() for text in page.locator(".caution-text").all())
    assert not page.get_by_text("Read all cautions").first.is_visible()


def test_dark_is_kept_for_the_next_visit_and_the_device_decides_until_then(page_for):
    page = page_for(DESK, color_scheme="light")
    page.goto("/style/")
    ground = "() => getComputedStyle(document.body).backgroundColor"
    assert page.evaluate(ground) == "rgb(251, 250, 246)"
    page.get_by_label("dark").check()
    page.reload()
    assert page.evaluate(ground) == "rgb(21, 24, 27)"
    page.get_by_label("automatic").check()
    assert page.evaluate(ground) == "rgb(251, 250, 246)"


def test_a_double_tap_sends_a_form_once(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.evaluate(
        "() => { const b = document.querySelector('#native button'); b.click(); setTimeout(() => b.click(), 5); }"
    )
    page.wait_for_load_state("networkidle")
    assert look_urls.received == ["as stored"]


def test_a_double_tap_sends_a_part_of_a_page_once(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.evaluate("() => { const b = document.querySelector('#part button'); b.click(); b.click(); }")
    expect(page.locator("#answer")).to_have_text("stored")
    assert look_urls.received == ["part"]
    page.click("#part button")
    page.wait_for_load_state("networkidle")
    assert look_urls.received == ["part", "part"], "a later, second action is a action of its own"


def test_typed_text_survives_a_sending_that_failed(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.fill("#note", "refuse me")
    page.click("#native button")
    page.get_by_role("link", name="Today").click()
    page.goto("/try/")
    expect(page.locator("#note")).to_have_value("refuse me")
    expect(page.get_by_text("Restored what you typed here")).to_be_visible()


def test_typed_text_that_was_put_back_can_be_dropped(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.fill("#note", "refuse me")
    page.click("#native button")
    page.wait_for_load_state()
    page.goto("/try/")
    page.get_by_role("button", name="Discard", exact=True).click()
    expect(page.locator("#note")).to_have_value("as stored")
    page.reload()
    expect(page.locator("#note")).to_have_value("as stored")


def test_typed_text_is_forgotten_once_it_is_stored(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.fill("#note", "leads cracked")
    page.click("#native button")
    page.wait_for_load_state("networkidle")
    assert look_urls.received == ["leads cracked"]
    expect(page.locator("#note")).to_have_value("as stored")
    assert page.evaluate("() => Object.keys(sessionStorage).filter((k) => k.startsWith('crankmark'))") == []


def test_typed_text_survives_a_session_that_ran_out(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.fill("#note", "leads cracked")
    session = page.context.cookies()
    page.context.clear_cookies()
    page.evaluate("() => document.querySelector('#native').requestSubmit()")
    page.wait_for_url("**next=**")
    assert look_urls.received == []
    page.context.add_cookies(session)
    page.goto("/try/")
    expect(page.locator("#note")).to_have_value("leads cracked")


def test_a_secret_is_never_kept(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.fill("#pin", "4711")
    page.fill("#note", "typed")
    assert "4711" not in page.evaluate("() => JSON.stringify({...sessionStorage})")


def test_leaving_a_changed_form_asks_first(page_for):
    page = page_for(DESK)
    page.goto("/try/")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.fill("#note", "not stored yet")
    page.goto("/style/")
    assert asked == ["beforeunload"]


def test_leaving_an_untouched_form_does_not_ask(page_for):
    page = page_for(DESK)
    page.goto("/try/")
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.click("#note")
    page.goto("/style/")
    assert asked == []


def test_a_lost_network_is_said_and_leaves_what_was_typed(page_for):
    page = page_for(TABLET)
    page.goto("/try/")
    page.fill("#note", "still here")
    page.context.set_offline(True)
    page.click("#part button")
    expect(page.locator("#connection")).to_contain_text("did not answer")
    expect(page.locator("#note")).to_have_value("still here")
    page.context.set_offline(False)
    page.click("#part button")
    expect(page.locator("#connection")).to_be_empty()
