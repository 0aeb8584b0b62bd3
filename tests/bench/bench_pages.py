"""How heavy the pages are in the hand and how many gestures a job takes, in two trees side by side.

Fills the demo of each tree, opens the pages of two of its cars in Chromium on a tablet's glass with the processor
slowed four times, and ticks items of the fitting sheet. With `--gestures` the two browser tests that walk a whole job
(unit and map by one person; a full conversion by two) are driven in each tree, their taps and fields counted by stage,
and page by page of the tree at hand: to cut where most is.
What sets the workshop up, once in its life, is counted apart from what lies between the booking and the PDF.
Run: python -m tests.bench.bench_pages [--before TREE] [--gestures]
TREE is another checkout of this repository, such as `git worktree add ../before RELEASE`.
"""

import argparse
import json
import os
import re
import shutil
import signal
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.bench.gestures import ONCE
from tests.bench.sheet_on_slow_tablet import ticks

HERE = Path(__file__).resolve().parents[2]
SLOWED, ROUNDS = 4, 3
GLASS = {"width": 1024, "height": 768}
MECHANIC = {"username": "ines", "password": "strobe-at-dusk"}
# Two cars of the demo by their plates: one whose unit is being fitted, one that has its map and is driven.
IN_FITTING, DRIVEN = "QZ 88 G", "ZI 1060"
OF_A_JOB = {
    IN_FITTING: ("", "inspection/", "fitting/", "booking/"),
    DRIVEN: ("", "inspection/", "fitting/", "base-timing/", "map/", "map/1/", "road-test/", "handover/"),
}
WALKS = {
    "unit and map, one person": "tests/browser/test_thread_alone.py",
    "full conversion": "tests/browser/test_thread.py",
}
READY = """() => document.readyState === 'complete' &&
  (!document.querySelector('[data-sheet]') || document.querySelector('[data-sheet][data-live]'))"""


@dataclass(frozen=True, slots=True)
class Measured:
    elements: int
    kilobytes: float
    screens: float
    ready_ms: float

    def __str__(self) -> str:
        return f"{self.elements:>6} {self.kilobytes:>6.0f} {self.screens:>6.1f} {self.ready_ms:>7.0f}"


def main() -> None:
    options = _asked_for()
    trees = {"before": options.before.resolve()} if options.before else {}
    trees["after"] = HERE
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-dev-shm-usage"]
        )
        _print_pages({name: _pages_of(tree, browser) for name, tree in trees.items()})
        browser.close()
    if options.gestures:
        for walk, test in WALKS.items():
            found = {name: _gestures_of(tree, test) for name, tree in trees.items()}
            _print_gestures(walk, {name: counts for name, (counts, _) in found.items()})
            _print_by_page(found["after"][1])


def _asked_for() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--before", type=Path, help="a checkout of another release, measured in the same run")
    parser.add_argument("--gestures", action="store_true", help="count taps and fields of two whole jobs as well")
    return parser.parse_args()


def _print_pages(found: dict[str, dict[str, Measured | str]]) -> None:
    print(f"processor slowed {SLOWED} times, {GLASS['width']}x{GLASS['height']}, middle of {ROUNDS} rounds")
    head = "elems     kB  screens  ready ms"
    print(f"{'page':<34}" + "".join(f"  {name + ': ' + head:<36}" for name in found))
    for page in dict.fromkeys(page for pages in found.values() for page in pages):
        print(f"{page:<34}" + "".join(f"  {pages.get(page, '')!s:<36}" for pages in found.values()))


@contextmanager
def _demo(tree: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """The demo of `tree`, served by its own code: its address, and the code of the job of each plate."""
    with tempfile.TemporaryDirectory(prefix="bench-pages-") as folder, socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
        free.close()
        environment = {
            **os.environ, "CRANKMARK_DATA": folder, "CRANKMARK_DEVELOPMENT": "1",
            "DJANGO_SETTINGS_MODULE": "garage.site.settings",
        }  # fmt: skip
        subprocess.run(
            [sys.executable, "manage.py", "demo", "--prepare-only"],
            cwd=tree, env=environment, check=True, capture_output=True,
        )  # fmt: skip
        with closing(sqlite3.connect(Path(folder) / "crankmark.sqlite3")) as book:
            codes = dict(
                book.execute(
                    "SELECT v.registration, max(j.code) FROM jobs_job j JOIN garage_vehicle v ON v.id = j.vehicle_id "
                    "GROUP BY v.registration"
                )
            )
        serving = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "garage.site.wsgi", "-b", f"127.0.0.1:{port}", "--threads", "6"],
            cwd=tree, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            _wait_for(f"http://localhost:{port}/health/")
            yield f"http://localhost:{port}", codes
        finally:
            serving.send_signal(signal.SIGTERM)
            serving.wait(timeout=30)


def _wait_for(address: str) -> None:
    for _ in range(300):
        try:
            with urllib.request.urlopen(address, timeout=5):  # noqa: S310 - our own address
                return
        except OSError:
            time.sleep(0.1)
    raise SystemExit(f"{address} does not answer.")


def _pages_of(tree: Path, browser: Browser) -> dict[str, Measured | str]:
    found: dict[str, Measured | str] = {}
    with _demo(tree) as (address, codes):
        context = browser.new_context(viewport=GLASS, has_touch=True, is_mobile=True, base_url=address)  # type: ignore[arg-type]
        page = context.new_page()
        page.goto("/sign-in/")
        for name, value in MECHANIC.items():
            page.locator(f"[name={name}]").fill(value)
        page.locator("form button[type=submit]").last.click()
        page.wait_for_load_state()
        slow = context.new_cdp_session(page)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
        for plate, parts in OF_A_JOB.items():
            for part in parts:
                found[f"{plate} {part or 'job'}"] = _measured(page, f"/jobs/{codes[plate]}/{part}")
        page.goto(f"/jobs/{codes[IN_FITTING]}/fitting/")
        found["a tick on the sheet [ms]"] = f"{_tick_ms(page):>29.0f}"
        context.close()
    return found


def _measured(page: Page, path: str) -> Measured | str:
    rounds = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        answer = page.goto(path)
        page.wait_for_function(READY)
        took = (time.perf_counter() - began) * 1000
        if answer is None or answer.status != 200:
            return f"answers {answer.status if answer else 'nothing'}"
        elements, height = page.evaluate(
            "() => [document.querySelectorAll('*').length, document.documentElement.scrollHeight]"
        )
        rounds.append(Measured(elements, len(answer.body()) / 1000, height / GLASS["height"], took))
    return sorted(rounds, key=lambda one: one.ready_ms)[len(rounds) // 2]


def _tick_ms(page: Page) -> float:
    """From the finger on 'Tick: done' to the next item in hand, as drawn; items of other kinds are skipped."""
    page.locator("[data-dock][data-ready]").wait_for()
    took = ticks(page)
    if not took:
        raise SystemExit("The sheet of the demo has nothing left to tick.")
    return statistics.median(took)


def _gestures_of(tree: Path, test: str) -> tuple[dict[tuple[str, str], int], list[tuple[str, str, str]]]:
    """The counts by stage and kind, and every gesture in its order: page, kind, the words on it."""
    if not (tree / test).exists():
        return {}, []
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "gestures.json"
        subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-n0", "-p", "gestures", test],
            cwd=tree, check=False, capture_output=True,
            env={**os.environ, "GESTURES": str(told), "PYTHONPATH": str(Path(__file__).parent)},
        )  # fmt: skip
        kept = json.loads(told.read_text())
        if not kept["passed"]:
            print(f"{test} failed in {tree}: what it did until then is counted")
        return {(stage, kind): count for stage, kind, count in kept["counts"]}, kept["trail"]


def _print_gestures(walk: str, found: dict[str, dict[tuple[str, str], int]]) -> None:
    print(f"\n{walk:<24}" + "".join(f"{name + ': taps':>14} {'fields':>7}" for name in found))
    stages = list(dict.fromkeys(stage for counts in found.values() for stage, _ in counts))
    for stage in stages:
        print(f"{stage:<24}" + "".join(_of(counts, [stage]) for counts in found.values()))
    for words, counted in {
        "from booking to the PDF": [stage for stage in stages if not stage.endswith(ONCE)],
        "all of it": stages,
    }.items():
        print(f"{words:<24}" + "".join(_of(counts, counted) for counts in found.values()))


def _print_by_page(trail: list[tuple[str, str, str]]) -> None:
    """Taps and fields of each page, whatever its job, its run or its session."""
    counted = Counter((re.sub(r"/[0-9-]+(?=/)|/[0-9a-f]{8}-[0-9a-f-]+", "/…", path), kind) for path, kind, _ in trail)
    for page in dict.fromkeys(page for page, _ in counted):
        print(f"  {page:<50}{counted[page, 'tap']:>5} {counted[page, 'field']:>5}")


def _of(counts: dict[tuple[str, str], int], stages: list[str]) -> str:
    taps, fields = (sum(counts.get((stage, kind), 0) for stage in stages) for kind in ("tap", "field"))
    return f"{taps:>14} {fields:>7}"


if __name__ == "__main__":
    main()
