"""A sheet on a cheap tablet: its size, how long until it can be ticked, and until a tick is seen.

The processor is slowed four times by the browser itself (Chrome DevTools Protocol, Emulation.setCPUThrottlingRate). Two
addresses can be measured side by side, in turns, for example the same sheet of two releases:

    python -m tests.bench.sheet_on_slow_tablet OLD-ADDRESS NEW-ADDRESS --user ines --password sheet-password

The ticks are real ones: give it a workshop that may be written to, such as the demo's.
"""

import argparse
import math
import statistics
from collections.abc import Callable
from typing import Any
from urllib.parse import urljoin

from playwright.sync_api import Browser, Page, sync_playwright

from tests.chromium import PROGRAM

SLOWED = 4
TABLET = {"width": 1024, "height": 768}
TICKS, ROUNDS = 5, 3

# Writes down when the item in hand takes its first answer, as seen: after the frame that shows it.
WATCH = """(() => {
    const look = () => {
        if (!document.querySelector("[data-dock][data-ready]:not([hidden]) h2")) return requestAnimationFrame(look);
        requestAnimationFrame(() => setTimeout(() => (window.readyAt = performance.now())));
    };
    requestAnimationFrame(look);
})()"""

# Taps, and waits for the frame in which another item is in hand.
TICK = """() => new Promise((resolve) => {
    const heading = () => document.querySelector("[data-dock] h2")?.textContent;
    const before = heading();
    const buttons = [...document.querySelectorAll("[data-dock] button")];
    const button = buttons.find(({ textContent }) => textContent === "Tick: done");
    const began = performance.now();
    button.click();
    const look = () => {
        if (heading() === before) return requestAnimationFrame(look);
        requestAnimationFrame(() => setTimeout(() => resolve(performance.now() - began)));
    };
    look();
})"""

OTHER = "(before) => document.querySelector('[data-dock] h2')?.textContent !== before"


def measured(page: Page, url: str) -> dict[str, float]:
    """The sheet at `url` on `page`, whose person is signed in and may fill it in.

    Returns "elements", "bytes" (the page itself, unpacked), "height_in_screens", "ready_ms" (from navigation until the
    item in hand takes an answer) and "tick_ms" (median of up to five ticks, each until the next item is seen; nan where
    the sheet has none to tick).
    """
    page.add_init_script(WATCH)
    chrome = page.context.new_cdp_session(page)
    chrome.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED})
    try:
        page.goto(url, wait_until="commit")
        page.wait_for_function("() => window.readyAt", timeout=60_000)
        ready = page.evaluate("() => window.readyAt")
        found = page.evaluate(
            """() => ({
                elements: document.querySelectorAll("*").length,
                bytes: performance.getEntriesByType("navigation")[0].decodedBodySize,
                height_in_screens: document.documentElement.scrollHeight / innerHeight,
            })"""
        )
        took = ticks(page)
    finally:
        chrome.send("Emulation.setCPUThrottlingRate", {"rate": 1})
    return {**found, "ready_ms": ready, "tick_ms": statistics.median(took) if took else math.nan}


def ticks(page: Page) -> list[float]:
    """How long each tick took, with every other kind of item skipped."""
    took: list[float] = []
    seen: set[str] = set()
    while len(took) < TICKS and page.locator("[data-dock] h2").count():
        words = page.locator("[data-dock] h2").inner_text()
        if words in seen:
            break
        seen.add(words)
        page.wait_for_selector("[data-dock][data-ready]")
        if page.get_by_role("button", name="Tick: done", exact=True).is_visible():
            took.append(page.evaluate(TICK))
            page.wait_for_timeout(300)  # the queue sends meanwhile, as it would between two taps of a thumb
        else:
            page.locator("[data-dock]").get_by_role("button", name="Skip", exact=True).click()
            page.wait_for_function(OTHER, arg=words)
    return took


def signed_in(browser: Browser, url: str, user: str, password: str) -> Page:
    context = browser.new_context(viewport=TABLET, has_touch=True, is_mobile=True, locale="en-GB")
    page = context.new_page()
    page.goto(urljoin(url, "/sign-in/"))
    page.locator("[name=username]").fill(user)
    page.locator("[name=password]").fill(password)
    with page.expect_navigation():
        page.get_by_role("button", name="Sign in", exact=True).click()
    return page


def in_turns(urls: list[str], visit: Callable[[str], dict[str, float]]) -> dict[str, dict[str, float]]:
    """The median of each figure over the rounds, for each of `urls`."""
    rounds: dict[str, list[dict[str, float]]] = {url: [] for url in urls}
    for _ in range(ROUNDS):
        for url in urls:
            rounds[url].append(visit(url))
    return {url: {name: middle([one[name] for one in found]) for name in found[0]} for url, found in rounds.items()}


def middle(figures: list[float]) -> float:
    """The median of those rounds in which there was something to measure."""
    measured = [figure for figure in figures if not math.isnan(figure)]
    return statistics.median(measured) if measured else math.nan


def main(arguments: Any = None) -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    asked.add_argument("urls", nargs="+")
    asked.add_argument("--user", required=True)
    asked.add_argument("--password", required=True)
    options = asked.parse_args(arguments)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=PROGRAM, args=["--no-sandbox", "--disable-dev-shm-usage"])

        def visit(url: str) -> dict[str, float]:
            page = signed_in(browser, url, options.user, options.password)  # a new tablet: nothing is kept on it yet
            try:
                return measured(page, url)
            finally:
                page.context.close()

        for url, found in in_turns(options.urls, visit).items():
            print(url)
            for name, figure in found.items():
                print(f"  {name:>18}: {figure:,.1f}")
        browser.close()


if __name__ == "__main__":
    main()
