"""The tablet's queue against everything a workshop's Wi-Fi can do to it, two thousand times.

The page's own modules keep and send the messages; the test only makes them, spoils the way, and counts in the
server's database afterwards. The seed is printed, so that a failure can be played again.
"""

import json
import os
import random
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route

from tests.browser.real_server import RealServer

pytestmark = pytest.mark.browser

MESSAGES = int(os.environ.get("QUEUE_MESSAGES") or 2_000)
RESTARTS = 5
PATIENCE = 240

MAKE = """async ([scene, from, to, seed]) => {
    const { addMessage } = await import("/static/js/fitting/queue-store.js");
    const { newId } = await import("/static/js/fitting/dom.js");
    const made = [];
    let state = seed;
    const roll = (sides) => {
        state = (state * 1103515245 + 12345) % 2147483648;
        return Math.floor(state / 65536) % sides;
    };
    for (let n = from; n < to; n += 1) {
        const code = scene.codes[n % scene.codes.length];
        const item = roll(8);
        const isTick = item % 2 === 1;
        const body = isTick ? { outcome: "done", note: `no. ${n}` } : { outcome: "done", measure: n, note: `no. ${n}` };
        const message = {
            id: newId(), message: "entry", job: code, kind: "fitting", url: `/jobs/${code}/sheet/fitting/send/`,
            maker: scene.people.mechanic, makerName: "Ines Marlow", item: `item-${item}`, itemText: `Item ${item}`,
            madeAt: new Date().toISOString(), body: { ...body, replaces: [] },
        };
        await addMessage(message);
        made.push([message.id, n, code]);
    }
    return made;
}"""

LEFT = """async () => {
    const { allMessages } = await import("/static/js/fitting/queue-store.js");
    const messages = await allMessages();
    const count = (state) => messages.filter((message) => message.state === state).length;
    return { waiting: count("waiting"), refused: count("refused") };
}"""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[RealServer]:
    server = RealServer(tmp_path)
    yield server
    server.stop()


class BadWifi:
    """Spoils one sending in six: lost on the way there, lost on the way back, sent twice, or late."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)
        self.tally = {"lost": 0, "answer lost": 0, "sent twice": 0, "late": 0, "clean": 0}
        self.earlier: list[tuple[str, str, dict[str, str]]] = []

    def handle(self, route: Route) -> None:
        fate = self.dice.choices(list(self.tally), weights=[2, 3, 4, 2, 60])[0]
        self.tally[fate] += 1
        try:
            match fate:
                case "lost":
                    route.abort()
                case "answer lost":
                    route.fetch()
                    route.abort()
                case "sent twice":
                    route.fetch()
                    route.fulfill(response=route.fetch())
                case "late":
                    # An older message comes in once more, long after newer ones.
                    self.again(route)
                    route.continue_()
                case _:
                    route.continue_()
        except Exception:
            # The server went down in the middle of it, which is one more way to lose an answer.
            route.abort()
        if fate != "late":
            request = route.request
            self.earlier.append((request.url, request.post_data or "", request.headers))

    def again(self, route: Route) -> None:
        if not self.earlier:
            return
        url, text, headers = self.dice.choice(self.earlier)
        route.fetch(url=url, method="POST", post_data=text, headers=headers)


def restarted_now_and_then(server: RealServer, over: threading.Event, seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(RESTARTS):
        if over.wait(dice.uniform(1.5, 5)):
            return
        server.stop(signal.SIGKILL)
        time.sleep(dice.uniform(0.1, 0.6))
        server.start()


def test_two_thousand_entries_over_bad_wifi_and_server_restarts_are_each_in_the_record_once(tablet, server):
    seed = int(os.environ.get("QUEUE_SEED") or random.SystemRandom().randrange(10**6))
    print(f"QUEUE_SEED={seed}")
    scene = server.prepare("many_sheets")
    server.start()
    page: Page = tablet(server.url, scene["sessions"]["mechanic"])
    page.goto(f"/jobs/{scene['codes'][0]}/fitting/")
    page.locator("[data-sheet][data-live]").wait_for(state="attached")
    wifi, over = BadWifi(seed), threading.Event()
    page.route("**/send/", wifi.handle)
    breaking = threading.Thread(target=restarted_now_and_then, args=(server, over, seed), daemon=True)
    breaking.start()
    made: list[tuple[str, int, str]] = []
    for start in range(0, MESSAGES, 250):
        made += page.evaluate(MAKE, [scene, start, start + 250, seed + start])
        if start == MESSAGES // 2:
            page.close(run_before_unload=False)  # the tab is killed in the middle of sending
            page = page.context.new_page()
            page.route("**/send/", wifi.handle)
            page.goto(f"/jobs/{scene['codes'][0]}/fitting/")
            page.locator("[data-sheet][data-live]").wait_for(state="attached")
    deadline = time.monotonic() + PATIENCE
    left = page.evaluate(LEFT)
    while left["waiting"] and time.monotonic() < deadline:
        page.wait_for_timeout(500)
        left = page.evaluate(LEFT)
    over.set()
    breaking.join(timeout=60)
    print(json.dumps(wifi.tally))
    assert left == {"waiting": 0, "refused": 0}
    assert len(made) == MESSAGES
    kept = server.rows(
        "SELECT e.id, e.note, j.code FROM jobs_entry e JOIN jobs_jobsheet s ON s.id = e.sheet_id "
        "JOIN jobs_job j ON j.id = s.job_id"
    )
    assert sorted((id.replace("-", ""), f"no. {n}", code) for id, n, code in made) == sorted(kept)
    assert min(wifi.tally.values()) > 0, "the Wi-Fi was not bad enough to prove anything"
    # In their order: of each sheet the entries came in as they were made, whatever came in twice or late.
    for code in scene["codes"]:
        came_in = server.rows(
            "SELECT e.note FROM jobs_entry e JOIN jobs_jobsheet s ON s.id = e.sheet_id "
            "JOIN jobs_job j ON j.id = s.job_id WHERE j.code = ? ORDER BY e.received_at",
            code,
        )
        numbers = [int(note.removeprefix("no. ")) for (note,) in came_in]
        assert numbers == sorted(numbers)
