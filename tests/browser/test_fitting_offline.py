"""The sheet in a dead spot: the server is really stopped and started, tabs are really killed."""

import signal

import pytest
from playwright.sync_api import Page, expect

from tests.browser.real_server import RealServer
from tests.browser.test_fitting_filling import unfolded
from tests.checklists.factories import photograph

pytestmark = pytest.mark.browser

COPY_IS_KEPT = """async () => {
    const cache = await caches.open("crankmark-pages");
    return (await cache.keys()).some((request) => request.url.endsWith("/fitting/"));
}"""
PASSWORD = "a long workshop password"  # as tests.factories gives it to everybody


@pytest.fixture
def scene(server):
    return server.set_out("one_sheet")


def opened(page: Page, scene, *, first_time: bool = True) -> Page:
    page.goto(f"/jobs/{scene['code']}/fitting/")
    expect(page.locator("[data-sheet][data-live]")).to_be_attached()
    if first_time:
        # From now on it opens without a network.
        expect(page.locator("[data-sheet][data-offline-ready]")).to_be_attached()
        page.wait_for_function(COPY_IS_KEPT)
    return page


def on(scene, tablet, server, who: str) -> Page:
    return opened(tablet(server.url, scene["sessions"][who]), scene)


def line(page: Page, key: str):
    return page.locator(f'[data-key="{key}"].line')


def status(page: Page):
    return page.locator("[data-status]")


def all_sent(page: Page) -> None:
    expect(status(page)).to_contain_text("all sent", timeout=20_000)


def ready(page: Page) -> None:
    expect(page.locator("[data-dock][data-ready]")).to_be_visible()


def in_hand(page: Page, words: str) -> None:
    expect(page.locator("[data-dock]").get_by_role("heading")).to_have_text(words)
    ready(page)


def typed(page: Page, item: str, words: str) -> None:
    in_hand(page, item)
    page.keyboard.type(words)
    page.keyboard.press("Enter")


def written(page: Page, item: str, words: str) -> None:
    """Saved at once, though other boxes of the section stand under it."""
    in_hand(page, item)
    page.keyboard.type(words)
    page.locator("[data-dock]").get_by_role("button", name="Save", exact=True).tap()


def ticked(page: Page, item: str) -> None:
    in_hand(page, item)
    page.get_by_role("button", name="Tick: done").tap()
    expect(page.locator(".line", has_text=item).first).to_contain_text("done")


def fill_to_the_end(page: Page) -> None:
    """Everything after the hold point."""
    typed(page, "Coil primary at 20 °C", "1.5")
    in_hand(page, "Cap and rotor arm")
    page.get_by_role("button", name="sound", exact=True).tap()
    written(page, "Fuse: rating and where it sits", "8 A, by the battery")
    in_hand(page, "Loom as it runs now")
    picture = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photograph()}
    page.locator("[data-dock] .dock-photo-large input[type=file]").set_input_files(picture)
    typed(page, "Drop, battery to feed", "0.4")  # on to the figure under it, which is saved with it
    page.keyboard.type("0.05")
    page.keyboard.press("Enter")
    ticked(page, "Routed clear of hot and high-tension parts")


def entries(server: RealServer) -> list[tuple]:
    return server.rows(
        "SELECT i.key, e.outcome, e.measure, e.by_id FROM jobs_entry e JOIN jobs_checklistitem i ON i.id = e.item_id"
    )


def reloaded_past_the_warning(page: Page) -> list[str]:
    """Reload, and leave past the question whether one really wants to; gives back what was asked."""
    asked: list[str] = []

    def leave(dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    page.once("dialog", leave)
    page.reload()
    return asked


EVERY_ITEM = {"battery-isolated", "coil-primary", "cap", "fuse", "loom", "feed-drop", "earth-drop", "routed"}


def test_a_sheet_filled_while_the_server_is_down_is_in_the_record_once_when_it_is_back(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    ticked(page, "Battery isolated")
    all_sent(page)
    server.stop(signal.SIGKILL)
    fill_to_the_end(page)
    expect(status(page)).to_contain_text("7 entries not sent yet")
    expect(status(page)).to_contain_text("does not answer")
    expect(line(page, "feed-drop")).to_contain_text("not sent yet")
    assert len(entries(server)) == 1
    server.start()
    all_sent(page)
    keys = [key for key, *_ in entries(server)]
    assert len(keys) == len(EVERY_ITEM)
    assert set(keys) == EVERY_ITEM
    assert server.rows("SELECT count(*) FROM jobs_photograph") == [(1,)]
    assert {by for *_, by in entries(server)} == {scene["people"]["mechanic"]}


def test_the_page_opens_and_fills_with_the_server_down_and_shows_what_was_entered_before(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    ticked(page, "Battery isolated")
    all_sent(page)
    server.stop()
    typed(page, "Coil primary at 20 °C", "1.5")
    expect(status(page)).to_contain_text("1 entry not sent yet")
    assert reloaded_past_the_warning(page) == ["beforeunload"]
    expect(page.locator("[data-sheet][data-live]")).to_be_attached(timeout=15_000)
    expect(line(page, "battery-isolated")).to_contain_text("done")  # sent before, from the copy of the sheet
    expect(line(page, "coil-primary")).to_contain_text("1.50")  # not sent, from the queue
    expect(line(page, "coil-primary")).to_contain_text("not sent yet")
    in_hand(page, "Cap and rotor arm")
    page.get_by_role("button", name="sound", exact=True).tap()
    expect(status(page)).to_contain_text("2 entries not sent yet")
    server.start()
    all_sent(page)
    assert sorted(key for key, *_ in entries(server)) == ["battery-isolated", "cap", "coil-primary"]


def test_a_tab_killed_while_the_server_is_down_loses_nothing(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    server.stop()
    ticked(page, "Battery isolated")
    typed(page, "Coil primary at 20 °C", "1.5")
    expect(status(page)).to_contain_text("2 entries not sent yet")
    context = page.context
    page.close(run_before_unload=False)  # nothing of the page runs any more, no farewell
    again = context.new_page()
    opened(again, scene, first_time=False)
    expect(line(again, "coil-primary")).to_contain_text("1.50")
    expect(status(again)).to_contain_text("2 entries not sent yet")
    server.start()
    all_sent(again)
    assert sorted(key for key, *_ in entries(server)) == ["battery-isolated", "coil-primary"]


def test_with_the_network_switched_off_entries_wait_and_are_sent_when_it_is_back(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    page.context.set_offline(True)
    ticked(page, "Battery isolated")
    expect(status(page)).to_contain_text("1 entry not sent yet")
    page.context.set_offline(False)
    all_sent(page)
    assert [key for key, *_ in entries(server)] == ["battery-isolated"]


def test_an_answer_that_was_lost_on_the_way_does_not_double_the_entry(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    lost = []

    def lose_the_answer(route) -> None:
        route.fetch()  # it reaches the server, and the answer gets lost
        lost.append(route.request.url)
        route.abort()

    page.route("**/send/", lose_the_answer, times=2)
    ticked(page, "Battery isolated")
    all_sent(page)
    assert len(lost) == 2
    assert [key for key, *_ in entries(server)] == ["battery-isolated"]


def test_two_tablets_see_each_others_entries_within_five_seconds(tablet, server, scene):
    first, second = (on(scene, tablet, server, who) for who in ("mechanic", "second_mechanic"))
    ticked(first, "Battery isolated")
    expect(line(second, "battery-isolated")).to_contain_text("Ines Marlow", timeout=5_000)


def test_two_tablets_that_measured_the_same_in_a_dead_spot_both_keep_their_figure(tablet, server, scene):
    first, second = (on(scene, tablet, server, who) for who in ("mechanic", "second_mechanic"))
    ticked(first, "Battery isolated")
    expect(line(second, "battery-isolated")).to_contain_text("done")
    server.stop()
    for page, figure in ((first, "1.5"), (second, "1.6")):
        unfolded(page, "coil-primary").locator("[data-open]").tap()
        typed(page, "Coil primary at 20 °C", figure)
        expect(status(page)).to_contain_text("1 entry not sent yet")
    server.start()
    for page in (first, second):
        all_sent(page)
        expect(line(page, "coil-primary")).to_contain_text("2 different entries", timeout=10_000)
        expect(line(page, "coil-primary")).to_contain_text("1.50 ohm, pass: Ines Marlow")
        expect(line(page, "coil-primary")).to_contain_text("1.60 ohm, pass: Tam Okoro")
    assert sorted(figure for key, _, figure, _ in entries(server) if key == "coil-primary") == [1.5, 1.6]


def signed_in(page: Page, username: str) -> None:
    page.get_by_label("User name").fill(username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").tap()
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


def session_expires(page: Page) -> None:
    page.context.clear_cookies(name="sessionid")


def test_an_expired_sign_in_keeps_the_queue_and_sends_it_after_signing_in_again(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    session_expires(page)
    ticked(page, "Battery isolated")
    expect(status(page)).to_contain_text("Sign in again to send them")
    assert entries(server) == []
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("link", name="Sign in again").tap()
    signed_in(page, "ines")
    all_sent(page)
    assert entries(server) == [("battery-isolated", "done", None, scene["people"]["mechanic"])]


def test_another_persons_queue_is_held_back_until_that_person_is_at_the_bench(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    session_expires(page)
    ticked(page, "Battery isolated")
    expect(status(page)).to_contain_text("1 entry not sent yet")
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("link", name="Sign in again").tap()
    signed_in(page, "tam")
    waiting = page.locator("[data-waiting]")
    expect(waiting).to_contain_text("1 entry of Ines Marlow not sent yet")
    expect(waiting).to_contain_text("sent when Ines Marlow signs in")
    page.wait_for_timeout(4_000)  # time enough for a round of asking and sending
    assert entries(server) == []
    page.get_by_role("button", name="Sign out").tap()
    signed_in(page, "ines")
    page.goto(f"/jobs/{scene['code']}/fitting/")
    all_sent(page)
    assert entries(server) == [("battery-isolated", "done", None, scene["people"]["mechanic"])]


def test_another_person_who_signed_in_in_a_second_tab_sends_nothing_of_the_first(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    page.context.add_cookies([{"name": "sessionid", "value": scene["sessions"]["second_mechanic"], "url": server.url}])
    ticked(page, "Battery isolated")
    expect(status(page)).to_contain_text("Someone else is signed in now")
    assert entries(server) == []


def test_signing_out_takes_the_copies_of_sheets_off_the_tablet_and_leaves_the_queue(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    page.route("**/send/", lambda route: route.abort())
    ticked(page, "Battery isolated")
    expect(status(page)).to_contain_text("not sent yet")
    page.once("dialog", lambda dialog: dialog.accept())
    page.get_by_role("button", name="Sign out").tap()
    expect(page.get_by_role("button", name="Sign in")).to_be_visible()
    left = page.evaluate("async () => (await (await caches.open('crankmark-pages')).keys()).length")
    assert left == 0
    server.stop()
    page.goto(f"/jobs/{scene['code']}/fitting/", wait_until="commit")
    expect(page.get_by_role("heading")).to_have_text("The workshop computer does not answer")
    expect(page.locator("body")).not_to_contain_text("Battery isolated")
    assert page.evaluate(WAITING_IN_THE_QUEUE) == 1


WAITING_IN_THE_QUEUE = """() => new Promise((resolve) => {
    const opening = indexedDB.open("crankmark-queue", 1);
    opening.onsuccess = () => {
        const counting = opening.result.transaction("messages").objectStore("messages").count();
        counting.onsuccess = () => resolve(counting.result);
    };
})"""


def test_an_entry_the_server_refuses_stays_with_the_reason_until_a_person_deals_with_it(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    ticked(page, "Battery isolated")
    all_sent(page)
    # Somebody takes the hold point back while this tablet is in a dead spot, and so cannot know.
    other = on(scene, tablet, server, "second_mechanic")
    page.context.set_offline(True)
    typed(page, "Coil primary at 20 °C", "1.5")
    expect(status(page)).to_contain_text("1 entry not sent yet")
    unfolded(other, "battery-isolated").locator("[data-open]").tap()
    other.get_by_role("button", name="Undo").tap()
    expect(line(other, "battery-isolated")).to_contain_text("to do")
    all_sent(other)
    page.context.set_offline(False)
    refused = page.locator(".sheet-apart")
    expect(refused).to_contain_text("First the hold point ‘Battery isolated’", timeout=15_000)
    expect(refused).to_contain_text("1.5 ohm")
    page.once("dialog", lambda dialog: dialog.accept())
    page.reload()
    expect(refused).to_contain_text("First the hold point")
    unfolded(page, "battery-isolated").get_by_role("button").tap()
    expect(line(page, "battery-isolated")).to_contain_text("done")
    refused.get_by_role("button", name="Send again").tap()
    all_sent(page)
    assert ("coil-primary", "done", 1.5, scene["people"]["mechanic"]) in entries(server)


def test_without_a_sheet_on_the_tablet_the_dead_spot_is_said_plainly(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    server.stop()
    page.goto("/jobs/26-9999/fitting/", wait_until="commit")
    expect(page.get_by_role("heading")).to_have_text("The workshop computer does not answer")
    page.get_by_role("link", name=f"Open fitting sheet, job {scene['code']}").tap()
    expect(page.locator("[data-sheet][data-live]")).to_be_attached(timeout=15_000)
