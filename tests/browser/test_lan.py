"""The workshop on its own network: tablets open it over https, trusting the workshop's authority and nobody else."""

import os
import shutil
import signal
import subprocess
from collections.abc import Callable, Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from playwright.sync_api import Error, Page, expect

from tests.browser.conftest import PORTRAIT
from tests.browser.lan import LanServer
from tests.browser.test_fitting_offline import all_sent, entries, line, opened, ready, status
from tests.chromium import PROGRAM

pytestmark = pytest.mark.browser

ARGUMENTS = ["--no-sandbox", "--disable-dev-shm-usage"]
CERTUTIL = shutil.which("certutil")


@pytest.fixture(scope="module")
def workshop(tmp_path_factory) -> Iterator[LanServer]:
    """A car in fitting, its sheet begun; the workshop open over https."""
    server = LanServer(tmp_path_factory.mktemp("workshop"))
    server.scene = server.prepare("one_sheet")
    server.start()
    yield server
    server.stop()


@pytest.fixture
def browser_with(chromium) -> Iterator[Callable[..., object]]:
    """`browser_with(argument, …, env=…)`: a Chromium of its own, with arguments of its own."""
    browsers = []

    def started(*arguments: str, **more):
        browser = chromium.browser_type.launch(executable_path=PROGRAM, args=[*ARGUMENTS, *arguments], **more)
        browsers.append(browser)
        return browser

    yield started
    for browser in browsers:
        browser.close()


@pytest.fixture
def tablet(workshop, browser_with) -> Page:
    """The mechanic's tablet, which takes the key of this workshop's certificate for good."""
    browser = browser_with(f"--ignore-certificate-errors-spki-list={workshop.pin()}")
    context = browser.new_context(viewport=PORTRAIT, has_touch=True, is_mobile=True, base_url=workshop.url)
    session = workshop.scene["sessions"]["mechanic"]
    context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": session, "url": workshop.url}])
    page = context.new_page()
    page.set_default_timeout(15_000)
    return page


def test_a_tablet_that_does_not_trust_the_authority_is_warned(workshop, browser_with):
    page = browser_with().new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(workshop.url)


@pytest.mark.skipif(CERTUTIL is None, reason="certutil of NSS is not installed: Chromium cannot be told whom to trust")
def test_a_tablet_that_trusts_the_authority_opens_the_workshop_without_a_warning(workshop, browser_with, tmp_path):
    store = tmp_path / ".pki" / "nssdb"
    store.mkdir(parents=True)
    authority = workshop.folder / "certificates" / "authority.crt"
    for arguments in (
        ["-N", "--empty-password"],
        ["-A", "-n", "workshop", "-t", "C,,", "-i", str(authority)],
    ):
        subprocess.run([CERTUTIL, "-d", f"sql:{store}", *arguments], check=True)
    page = browser_with(env={**os.environ, "HOME": str(tmp_path)}).new_page()
    for name in ("localhost", "127.0.0.1"):
        answer = page.goto(f"https://{name}:{workshop.port}/sign-in/")
        assert answer.ok
        assert page.evaluate("() => window.isSecureContext")
        assert answer.security_details()["issuer"].startswith("Workshop authority")


def test_over_https_a_tablet_has_all_it_needs_to_work_in_a_dead_spot(workshop, tablet):
    opened(tablet, workshop.scene)
    assert tablet.evaluate("() => window.isSecureContext")
    assert tablet.evaluate("() => 'mediaDevices' in navigator && 'locks' in navigator && 'randomUUID' in crypto")
    worker = tablet.evaluate("async () => (await navigator.serviceWorker.ready).active.scriptURL")
    assert worker == f"{workshop.url}/jobs/service-worker.js"


def test_what_is_filled_in_while_the_workshop_is_closed_is_in_the_record_once_when_it_is_open_again(workshop, tablet):
    page = opened(tablet, workshop.scene)
    ready(page)
    page.get_by_role("button", name="Tick: done").tap()
    expect(line(page, "battery-isolated")).to_contain_text("done")
    all_sent(page)
    workshop.stop(signal.SIGKILL)
    page.keyboard.type("1.5")
    page.keyboard.press("Enter")
    ready(page)
    page.get_by_role("button", name="sound", exact=True).tap()
    expect(line(page, "cap")).to_contain_text("not sent yet")
    expect(status(page)).to_contain_text("2 entries not sent yet")
    page.once("dialog", lambda dialog: dialog.accept())
    page.reload()  # from the tablet's own copy, for nobody answers
    expect(line(page, "coil-primary")).to_contain_text("not sent yet")
    workshop.start()
    all_sent(page)
    assert sorted(key for key, *_ in entries(workshop)) == ["battery-isolated", "cap", "coil-primary"]
    assert {by for *_, by in entries(workshop)} == {workshop.scene["people"]["mechanic"]}


@pytest.mark.parametrize("viewport", [PORTRAIT, {"width": 390, "height": 844}], ids=["tablet", "phone"])
def test_the_page_that_explains_the_trust_can_be_read_by_everybody(workshop, browser_with, viewport):
    page = browser_with().new_page(viewport=viewport)
    page.goto(workshop.plain_url)
    expect(page.get_by_role("heading", level=1)).to_have_text("Trust the workshop computer")
    assert page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth")
    assert Axe().run(page).response["violations"] == []


def test_the_button_on_that_page_fetches_the_certificate(workshop, browser_with):
    page = browser_with().new_page()
    page.goto(workshop.plain_url)
    with page.expect_download() as fetched:
        page.get_by_role("link", name="Download certificate").click()
    assert fetched.value.suggested_filename == "crankmark-authority.crt"
    authority = workshop.folder / "certificates" / "authority.crt"
    assert fetched.value.path().read_bytes() == authority.read_bytes()
