"""Strobe readings and road notes in a dead spot: the server is really stopped and started, and tablets are upgraded."""

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.real_server import RealServer
from tests.browser.test_fitting_offline import reloaded_past_the_warning

pytestmark = pytest.mark.browser

# As the release before this one laid its store, and wrote an entry into it.
FORMER_TABLET = """async ([job, maker]) => {
    const db = await new Promise((resolve, reject) => {
        const request = indexedDB.open("crankmark-queue", 1);
        request.onupgradeneeded = () => {
            const store = request.result.createObjectStore("messages", { keyPath: "order", autoIncrement: true });
            store.createIndex("id", "id", { unique: true });
        };
        request.onsuccess = () => resolve(request.result);
        request.onerror = () => reject(request.error);
    });
    const store = db.transaction("messages", "readwrite").objectStore("messages");
    store.add({
        state: "waiting", problem: "", id: crypto.randomUUID(), message: "entry", job, kind: "fitting",
        url: `/jobs/${job}/sheet/fitting/send/`, page: `/jobs/${job}/fitting/`, maker, makerName: "Ines Marlow",
        item: "fuse", itemText: "Fuse", madeAt: new Date().toISOString(), behind: [],
        body: { outcome: "done", note: "by the battery", replaces: [] },
    });
    await new Promise((resolve) => { store.transaction.oncomplete = resolve; });
    db.close();
}"""

COPY_IS_KEPT = """async (path) => {
    const cache = await caches.open("crankmark-pages");
    return Boolean(await cache.match(path));
}"""


@pytest.fixture
def scene(server) -> dict[str, Any]:
    return server.set_out("strobe_and_road")


def opened(page: Page, path: str) -> Page:
    """From now on the page opens without a network."""
    page.goto(path)
    expect(page.locator("[data-live][data-offline-ready]")).to_be_attached()
    page.wait_for_function(COPY_IS_KEPT, arg=path)
    return page


def status(page: Page):
    return page.locator("[data-status]")


def not_sent(page: Page):
    return page.locator("[data-not-sent] li")


def all_sent(page: Page) -> None:
    expect(status(page)).to_contain_text("all sent", timeout=20_000)
    expect(not_sent(page)).to_have_count(0)


def read(page: Page, rpm: str, degrees: str) -> None:
    for figure in (rpm, degrees):
        for digit in figure:
            page.locator(f'.pad [data-key="{digit}"]').tap()
        page.keyboard.press("Enter")


def felt(page: Page, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).tap()


def readings(server: RealServer) -> list[tuple]:
    return server.rows("SELECT rpm, measured_deg FROM jobs_strobereading ORDER BY received_at")


def test_three_readings_taken_in_a_dead_spot_are_in_the_record_once_and_in_order(tablet, server, scene):
    path = f"/jobs/{scene['code']}/strobe/{scene['session']}/"
    page = opened(tablet(server.url, scene["sessions"]["mechanic"]), path)
    server.stop()
    read(page, "850", "8")
    read(page, "1800", "7.5")
    expect(not_sent(page)).to_have_count(2)
    expect(status(page)).to_contain_text("2 entries not sent yet")
    expect(page.get_by_label("Speed")).to_be_focused()
    assert reloaded_past_the_warning(page) == ["beforeunload"]
    expect(not_sent(page)).to_have_count(2)  # the page opens without a network, and knows what waits
    expect(not_sent(page).first).to_contain_text("8° at 850 rpm")
    read(page, "2400", "8.5")
    expect(not_sent(page)).to_have_count(3)
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
    server.start()
    all_sent(page)
    expect(page.locator("#session tbody tr")).to_have_count(3)
    assert readings(server) == [(850, 8), (1800, 7.5), (2400, 8.5)]
    # Without a network again the tablet still shows what it has seen in the record.
    server.stop()
    page.reload()
    expect(page.locator("#session tbody tr")).to_have_count(3)


def test_notes_taken_in_a_dead_spot_come_in_with_their_place_and_a_refused_one_stays_on_the_tablet(
    tablet, server, scene
):
    path = f"/jobs/{scene['code']}/road-test/{scene['run']}/"
    page = opened(tablet(server.url, scene["sessions"]["mechanic"]), path)
    server.stop()
    felt(page, "Pinking, definite")
    placing = page.locator("form[data-placing]")
    page.get_by_label("Speed, by slide").fill("2600")
    placing.locator("[name=place-gear]").nth(3).check()
    placing.get_by_label("full throttle").check()
    placing.get_by_role("button", name="Save place").tap()
    expect(not_sent(page)).to_contain_text(["definite pinking at 2600 rpm, gear 3, full throttle"])
    felt(page, "Mark this moment")
    felt(page, "Flat spot")  # the hill is short: no time to place it
    expect(not_sent(page)).to_have_count(3)
    felt(page, "Surge")
    placing.get_by_label("Speed", exact=True).fill("12000")  # no engine: the workshop computer refuses the place
    placing.get_by_role("button", name="Save place").tap()
    results = Axe().run(page)
    assert results.violations_count == 0, results.generate_report()
    assert reloaded_past_the_warning(page) == ["beforeunload"]
    expect(not_sent(page)).to_have_count(4)
    server.start()
    expect(status(page)).to_contain_text("1 entry refused", timeout=20_000)
    expect(not_sent(page)).to_have_count(0)
    expect(page.locator(".sheet-apart")).to_contain_text("Speed: Must be between 0 and 10000 rpm.")
    listed = page.locator("[data-found=notes] li")
    expect(listed).to_have_count(4)
    for words in ("Definite pinking at 2600 rpm, gear 3, full throttle", "Moment marked", "Flat spot", "Surge"):
        expect(listed.filter(has_text=words)).to_have_count(1)
    rows = server.rows("SELECT kind, rpm, gear, supersedes_id IS NOT NULL FROM jobs_roadnote ORDER BY received_at")
    assert rows == [
        ("pinking", None, None, 0),
        ("pinking", 2600, 3, 1),
        ("mark", None, None, 0),
        ("flat spot", None, None, 0),
        ("surge", None, None, 0),
    ]


def test_what_waits_on_a_tablet_of_the_former_release_is_sent_after_the_upgrade(tablet, server, scene):
    page = tablet(server.url, scene["sessions"]["mechanic"])
    page.goto("/health/")
    page.evaluate(FORMER_TABLET, [scene["code"], scene["people"]["mechanic"]])
    page.goto(f"/jobs/{scene['code']}/strobe/{scene['session']}/")
    all_sent(page)
    assert server.rows("SELECT note FROM jobs_entry") == [("by the battery",)]
