"""Counts what a pair of hands does in the browser tests: a pytest plugin, `-p tests.bench.gestures`.

Every tap on the glass and every field that was written in, by the address it was done on, in any release whose browser
tests drive a page by Playwright. A page that a test opens by its address counts as one tap: a person taps a link.
`python -m tests.bench.bench_pages` runs it in two trees and prints both.
"""

import json
import os
import sys
from collections import Counter
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import BrowserContext, Page

# One `pointerdown` is one tap or click, whatever clicks the browser makes of it. A field counts once between two taps:
# a box that is emptied by its button and written in again is another field to whoever writes.
LISTEN = """(() => {
  let written = new WeakSet();
  const words = (target) => (target.closest('label, button, a, summary')?.innerText || target.name || target.tagName)
    .trim().split('\\n')[0].slice(0, 60);
  const told = (kind, target) => window.gestured?.(kind, location.pathname, words(target));
  addEventListener('pointerdown', (event) => {
    if (!event.isTrusted) return;
    written = new WeakSet();
    told('tap', event.target);
  }, true);
  addEventListener('input', ({ target }) => {
    if (target.matches('[type=radio], [type=checkbox], [type=file], [type=range]') || written.has(target)) return;
    written.add(target);
    told('field', target);
  }, true);
})()"""
# Whatever is done before the first customer or car is asked for: code, people, PINs, lists and the unit, once in the
# life of a workshop.
ONCE = ", once"  # ends the name of what is counted apart
SETTING_UP = f"setting up{ONCE}"
BEGINS_A_BOOKING = ("/customers/new/", "/jobs/book/")
# The parts of a job's address, in the order of the work; whatever is not of a job is the workshop's own.
STAGES = ("book", "booking", "unit", "inspection", "fitting", "base-timing", "map", "road-test", "handover")

_done: Counter[tuple[str, str]] = Counter()
_trail: list[tuple[str, str, str]] = []  # page, kind and the words on it, one gesture after the other
_begun: set[str] = set()  # by which address the first booking began
_new_page, _goto = BrowserContext.new_page, Page.goto


def stage_of(path: str) -> str:
    """The stage of a job that `path` belongs to; 'car' for the car's own page, 'workshop' for anything else."""
    parts = [part for part in path.split("/") if part]
    if parts[:1] == ["vehicles"]:
        return "car"
    if parts[:2] == ["jobs", "book"]:
        return "book"
    if parts[:1] == ["jobs"] and len(parts) > 1:
        return next((part for part in parts[2:] if part in STAGES), "job")
    return "workshop"


def _count(path: str, kind: str, words: str) -> None:
    if path.startswith(BEGINS_A_BOOKING):
        _begun.add(path)
    if apart := getattr(getattr(sys.modules.get("tests.browser.trade"), "Bench", None), "counted_as", ""):
        _done[apart, kind] += 1
        return
    _done[stage_of(path) if _begun else SETTING_UP, kind] += 1
    if _begun:
        _trail.append((path, kind, words))


def _counted_page(context: BrowserContext) -> Page:
    page = _new_page(context)
    page.expose_binding("gestured", lambda _, kind, path, words: _count(path, kind, words))
    page.add_init_script(LISTEN)
    return page


def _counted_goto(page: Page, url: str, **more: object) -> object:
    _count(urlsplit(url).path, "tap", "(goes there)")
    return _goto(page, url, **more)  # type: ignore[arg-type]


def pytest_configure() -> None:
    BrowserContext.new_page = _counted_page  # type: ignore[method-assign]
    Page.goto = _counted_goto  # type: ignore[method-assign,assignment]


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Leave the counts where GESTURES says, as [[stage, kind, count], …], and the trail of [page, kind, words]."""
    counts = [[stage, kind, count] for (stage, kind), count in sorted(_done.items())]
    if place := os.environ.get("GESTURES"):
        Path(place).write_text(json.dumps({"passed": session.testsfailed == 0, "counts": counts, "trail": _trail}))
    else:
        print(*counts, sep="\n")
