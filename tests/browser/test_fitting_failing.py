"""The sheet when the server is there and fails, when a proxy speaks for it, and when the browser keeps nothing."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import expect

from tests.browser.test_fitting_offline import (
    all_sent,
    entries,
    line,
    on,
    reloaded_past_the_warning,
    scene,
    status,
    ticked,
)

pytestmark = pytest.mark.browser
__all__ = ["scene"]  # a fixture


class _Failing(BaseHTTPRequestHandler):
    """Stands where the workshop's server stood: a proxy whose server is down, or a server with a full disk."""

    status = 503

    def do_GET(self) -> None:
        self.rfile.read(int(self.headers.get("Content-Length") or 0))
        self.send_response(self.status)
        self.send_header("Content-Type", "text/html")
        self.send_header("Content-Length", "3")
        self.end_headers()
        self.wfile.write(b"No.")

    do_POST = do_GET  # noqa: N815 - the library's name

    def log_message(self, *_: object) -> None:
        pass


@contextmanager
def answering_only(status: int, port: int) -> Iterator[None]:
    stand_in = ThreadingHTTPServer(("127.0.0.1", port), type("Failing", (_Failing,), {"status": status}))
    threading.Thread(target=stand_in.serve_forever, daemon=True).start()
    try:
        yield
    finally:
        stand_in.shutdown()
        stand_in.server_close()


def test_a_proxy_that_speaks_for_a_server_that_is_down_is_no_answer_and_the_sheet_opens_all_the_same(
    tablet, server, scene
):
    page = on(scene, tablet, server, "mechanic")
    server.stop()
    with answering_only(503, server.port):
        ticked(page, "Battery isolated")
        expect(status(page)).to_contain_text("does not answer")
        reloaded_past_the_warning(page)
        expect(line(page, "battery-isolated")).to_contain_text("not sent yet", timeout=15_000)
    server.start()
    all_sent(page)
    assert [key for key, *_ in entries(server)] == ["battery-isolated"]


def test_a_server_that_fails_is_said_to_fail_and_the_entry_waits(tablet, server, scene):
    page = on(scene, tablet, server, "mechanic")
    server.stop()
    with answering_only(500, server.port):
        ticked(page, "Battery isolated")
        expect(status(page)).to_contain_text("answers with an error")
        expect(status(page)).to_contain_text("1 entry not sent yet")
    server.start()
    all_sent(page)
    assert [key for key, *_ in entries(server)] == ["battery-isolated"]


def test_an_entry_refused_on_one_sheet_leads_back_to_it_from_another(tablet, server, scene):
    """Both sheets have an item of the same name: what was refused on one must not be entered on the other."""
    page = on(scene, tablet, server, "mechanic")
    server.run("-m", "tests.browser.scenes", "second_car")
    page.route("**/send/", lambda route: route.fulfill(status=422, json={"problem": "Not like this."}))
    ticked(page, "Battery isolated")
    refused = page.locator(".sheet-apart")
    expect(refused).to_contain_text("Not like this.")
    (other,) = server.rows("SELECT code FROM jobs_job WHERE code != ?", scene["code"])
    page.once("dialog", lambda dialog: dialog.accept())
    page.goto(f"/jobs/{other[0]}/fitting/")
    expect(refused).to_contain_text(f"job {scene['code']}")
    expect(refused.get_by_role("button", name="Open item")).to_have_count(0)
    refused.get_by_role("link", name="Open sheet").tap()
    page.wait_for_url(f"**/jobs/{scene['code']}/fitting/")


def test_what_a_second_person_has_to_look_at_says_why_it_waits_for_the_network(tablet, server):
    scene = server.set_out("one_item_for_two")
    page = on(scene, tablet, server, "mechanic")
    server.stop()
    ticked(page, "Torque")
    expect(page.locator("[data-dock]")).to_contain_text("second check needed")
    expect(page.locator("[data-dock]")).to_contain_text("PIN")


def test_a_browser_that_keeps_no_queue_says_so_and_sends_each_entry_straight_away(tablet, server, scene):
    page = tablet(server.url, scene["sessions"]["mechanic"])
    page.add_init_script("Object.defineProperty(window, 'indexedDB', { value: undefined })")
    page.goto(f"/jobs/{scene['code']}/fitting/")
    expect(status(page)).to_contain_text("Nothing is kept on this tablet")
    page.locator("[data-dock]").get_by_role("link", name="Enter").tap()
    page.get_by_role("button", name="Tick: done").tap()
    expect(line(page, "battery-isolated")).to_contain_text("Ines Marlow")
    assert [key for key, *_ in entries(server)] == ["battery-isolated"]
