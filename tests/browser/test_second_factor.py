"""A second factor as the owner meets it: the phone's codes, and a passkey of Chromium's virtual authenticator (CDP)."""

from datetime import UTC, datetime

import pyotp
import pytest
from playwright.sync_api import Page, expect

from tests.people.test_signing_in import PASSWORD

PATIENCE = 40_000  # [ms] ten slow hashes, on a machine that is busy

pytestmark = pytest.mark.browser


@pytest.fixture
def page(server, tablet) -> Page:
    server.set_out("people_only")
    page = tablet(server.url)
    page.set_default_timeout(PATIENCE)
    sign_in(page)
    page.get_by_role("link", name="Rowan Vale").click()
    page.get_by_role("link", name="Second factor").click()
    return page


def sign_in(page: Page) -> None:
    page.goto("/sign-in/")
    page.get_by_label("User name").fill("rowan")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def sign_out(page: Page) -> None:
    page.get_by_role("button", name="Sign out").click()


def test_the_owner_sets_up_a_time_code_and_signs_in_with_it_and_with_a_recovery_code(page):
    page.get_by_role("link", name="Set up time code").click()
    # what the phone photographs is there to be seen, and the policy lets it be shown
    assert page.get_by_alt_text("QR code with the key").evaluate("picture => picture.naturalWidth") > 100
    phone = pyotp.TOTP(page.locator("code").inner_text().replace(" ", ""))
    page.get_by_label("Code on your phone").fill(phone.now())
    page.get_by_role("button", name="Set up time code").click()
    shown = page.locator(".recovery-codes code")
    expect(shown).to_have_count(10, timeout=PATIENCE)
    codes = shown.all_inner_texts()
    page.get_by_role("link", name="I have kept them").click()
    sign_out(page)

    sign_in(page)
    expect(page.get_by_role("heading", name="second step")).to_be_visible()
    # The code of the set-up is spent: a phone's next one is good from a step before its time.
    page.get_by_label("Code").fill(phone.at(datetime.now(UTC), counter_offset=1))
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("link", name="Rowan Vale")).to_be_visible()
    sign_out(page)

    sign_in(page)
    page.get_by_label("Code").fill(codes[0])
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("link", name="Rowan Vale")).to_be_visible()


def test_the_owner_adds_a_passkey_and_signs_in_with_it(page):
    cdp = page.context.new_cdp_session(page)
    cdp.send("WebAuthn.enable")
    device = {"protocol": "ctap2", "transport": "usb", "automaticPresenceSimulation": True}
    cdp.send("WebAuthn.addVirtualAuthenticator", {"options": device})
    page.get_by_label("Name", exact=True).fill("key ring")
    page.get_by_role("button", name="Add passkey").click()
    expect(page.locator(".recovery-codes code")).to_have_count(10, timeout=PATIENCE)
    page.get_by_role("link", name="I have kept them").click()
    expect(page.get_by_text("key ring", exact=True)).to_be_visible()
    sign_out(page)

    sign_in(page)
    page.get_by_role("button", name="Use passkey").click()
    expect(page.get_by_role("link", name="Rowan Vale")).to_be_visible()
