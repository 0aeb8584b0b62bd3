"""How quick the map bench is in the hand: `python -m tests.bench.bench_map_bench`.

One worker, Chromium on the same machine. A node is dragged up and down for some seconds; the browser's own performance
timeline gives the time from a change to its findings on the page, and the gaps between the frames that were drawn.
"""

import json
import os
import shutil
import statistics
import tempfile
from pathlib import Path

from django.conf import settings
from playwright.sync_api import Page, sync_playwright

from tests.browser.real_server import RealServer

WATCH_FRAMES = """() => { window.gaps = []; let last = performance.now();
const frame = (now) => { window.gaps.push(now - last); last = now; requestAnimationFrame(frame); };
requestAnimationFrame(frame); }"""


def drag(page: Page, seconds: float) -> dict[str, list[float]]:
    ring = page.locator(".chart-node .chart-node-ring").nth(3)
    ring.wait_for(timeout=5000)
    box = ring.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.evaluate(WATCH_FRAMES)
    page.evaluate("performance.clearMeasures()")
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(int(seconds * 60)):
        page.mouse.move(x, y + 60 * ((step % 60) / 60 - 0.5))
        page.wait_for_timeout(16)
    page.mouse.up()
    page.wait_for_timeout(1000)
    found = page.evaluate("performance.getEntriesByName('findings').map((one) => one.duration)")
    return {"findings": found, "frames": page.evaluate("window.gaps")}


def told(name: str, figures: list[float]) -> str:
    ordered = sorted(figures)
    at_95 = ordered[int(0.95 * (len(ordered) - 1))]
    middle = statistics.median(ordered)
    return f"{name:10} n {len(ordered):4}  median {middle:6.1f} ms  95 % {at_95:6.1f} ms  worst {ordered[-1]:6.1f} ms"


def main() -> None:
    folder = Path(tempfile.mkdtemp(prefix="bench-of-maps-"))
    server = RealServer(folder)
    server.environment.pop("CRANKMARK_DEVELOPMENT")  # as in a workshop: templates cached
    server.environment["SECRET_KEY"] = "only for this run" * 4
    server.run("manage.py", "migrate", "-v0")
    server.run("manage.py", "collectstatic", "-v0", "--noinput")
    scene = json.loads(server.run("-m", "tests.browser.map_scenes").splitlines()[-1])
    server.start()
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-dev-shm-usage"]
            )
            for job in ("speed", "single", "six", "eight"):
                context = browser.new_context(viewport={"width": 1440, "height": 900})
                cookie = {
                    "name": settings.SESSION_COOKIE_NAME,
                    "value": scene["sessions"]["mechanic"],
                    "url": server.url,
                }
                context.add_cookies([cookie])
                page = context.new_page()
                page.goto(f"{server.url}/jobs/{scene['codes'][job]}/map/1/")
                page.wait_for_timeout(500)
                assert page.locator(".chart-node").count(), page.content()[:3000]
                measured = drag(page, 4.0)
                print(job)
                for name, figures in measured.items():
                    print("  ", told(name, figures[3:]))
                context.close()
            browser.close()
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
    main()
