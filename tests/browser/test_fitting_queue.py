"""The tablet's queue against everything a workshop's Wi-Fi can do to it, hundreds of times.

The page's own modules keep and send the messages; the test only makes them, spoils the way, and counts in the
server's database afterwards.
"""

import os
import random
import signal
import threading
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.real_server import RealServer

pytestmark = pytest.mark.browser

MESSAGES = int(os.environ.get("QUEUE_MESSAGES") or 300)
BATCH = 100
RESTARTS = 5
PATIENCE = 240

MAKE = """async ([scene, from, to, seed]) => {
    const { addMessage } = await import("/static/js/queue/queue-store.js");
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
    const { allMessages } = await import("/static/js/queue/queue-store.js");
    const messages = await allMessages();
    const count = (state) => messages.filter((message) => message.state === state).length;
    return { waiting: count("waiting"), refused: count("refused") };
}"""


@pytest.fixture
def server(tmp_path: Path) -> Iterator[RealServer]:
    server = RealServer(tmp_path)
    yield server
    server.stop()


# Spoils one sending in ten at the very edge of the browser: lost on the way there, lost on the way back, sent twice,
# or followed by an older one that comes in once more.
BAD_WIFI = """(() => {
    const real = window.fetch.bind(window);
    const fates = [["lost", 3], ["answer lost", 2], ["sent twice", 2], ["late", 2], ["clean", 80]];
    const bag = fates.flatMap(([fate, weight]) => Array(weight).fill(fate));
    const earlier = [];
    window.wifi = Object.fromEntries(fates.map(([fate]) => [fate, 0]));
    window.fetch = async (url, options) => {
        if (options?.method !== "POST") return real(url, options);
        const fate = bag[Math.floor(Math.random() * bag.length)];
        window.wifi[fate] += 1;
        if (fate === "lost") throw new TypeError("lost");
        const { signal, ...again } = options;
        if (fate === "late" && earlier.length) {
            const [address, older] = earlier[Math.floor(Math.random() * earlier.length)];
            await real(address, older).catch(() => undefined);
        }
        const answer = await real(url, options);
        earlier.push([url, again]);
        if (fate === "answer lost") throw new TypeError("answer lost");
        return fate === "sent twice" ? real(url, again) : answer;
    };
})()"""


def restarted_now_and_then(server: RealServer, over: threading.Event, seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(RESTARTS):
        if over.wait(dice.uniform(1.5, 5)):
            return
        server.stop(signal.SIGKILL)
        time.sleep(dice.uniform(0.1, 0.6))
        server.start()


def opened(page: Page, scene) -> Page:
    page.add_init_script(BAD_WIFI)
    page.goto(f"/jobs/{scene['codes'][0]}/fitting/")
    page.locator("[data-sheet][data-live]").wait_for(state="attached")
    return page


def test_hundreds_of_entries_over_bad_wifi_and_server_restarts_are_each_in_the_record_once(tablet, server):
    seed = int(os.environ.get("QUEUE_SEED") or random.SystemRandom().randrange(10**6))
    print(f"QUEUE_SEED={seed}")
    scene = server.prepare("many_sheets")
    server.start()
    page = opened(tablet(server.url, scene["sessions"]["mechanic"]), scene)
    over = threading.Event()
    breaking = threading.Thread(target=restarted_now_and_then, args=(server, over, seed), daemon=True)
    breaking.start()
    made: list[tuple[str, int, str]] = []
    tally: Counter[str] = Counter()
    for start in range(0, MESSAGES, BATCH):
        made += page.evaluate(MAKE, [scene, start, start + BATCH, seed + start])
        if start == MESSAGES // 2:
            tally.update(page.evaluate("() => window.wifi"))
            page.close(run_before_unload=False)  # the tab is killed in the middle of sending
            page = opened(page.context.new_page(), scene)
    deadline = time.monotonic() + PATIENCE
    left = page.evaluate(LEFT)
    while left["waiting"] and time.monotonic() < deadline:
        page.wait_for_timeout(500)
        left = page.evaluate(LEFT)
    tally.update(page.evaluate("() => window.wifi"))
    over.set()
    breaking.join(timeout=60)
    print(dict(tally))
    assert left == {"waiting": 0, "refused": 0}
    assert len(made) == MESSAGES
    kept = server.rows(
        "SELECT e.id, e.note, j.code FROM jobs_entry e JOIN jobs_jobsheet s ON s.id = e.sheet_id "
        "JOIN jobs_job j ON j.id = s.job_id"
    )
    assert sorted((id.replace("-", ""), f"no. {n}", code) for id, n, code in made) == sorted(kept)
    assert min(tally.values()) > 0, "the Wi-Fi was not bad enough to prove anything"
    # In their order: of each sheet the entries came in as they were made, whatever came in twice or late.
    for code in scene["codes"]:
        came_in = server.rows(
            "SELECT e.note FROM jobs_entry e JOIN jobs_jobsheet s ON s.id = e.sheet_id "
            "JOIN jobs_job j ON j.id = s.job_id WHERE j.code = ? ORDER BY e.received_at",
            code,
        )
        numbers = [int(note.removeprefix("no. ")) for (note,) in came_in]
        assert numbers == sorted(numbers)
