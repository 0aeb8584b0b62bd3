"""A road log beside the fast reader alone: import, cells, memory, the windows of the time line and its frames.

Run: python -m tests.bench.bench_road_log [--rows 1000000] [--samples 3000000] [--no-browser]

The import is measured from the compressed file in the storage to the row in the book, on the same file as numpy's
reader reads uncompressed from the disk, both in turns. Peak memory is that of a process of its own that reads a log of
`--samples` rows and does nothing else.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

ROUNDS = 5
FRAMES = 240
GOALS = {"import": 1.5, "cells_s": 1.0, "memory_mb": 600.0, "frames": 60.0}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--samples", type=int, default=3_000_000)
    parser.add_argument("--no-browser", action="store_true")
    parser.add_argument("--only-read", metavar="CSV", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="crankmark-bench-log-") as folder:
        _open_workshop(Path(folder))
        if asked.only_read:
            _only_read(Path(asked.only_read))
            return
        small, large = Path(folder) / "small.csv", Path(folder) / "large.csv"
        write_log(small, asked.rows)
        write_log(large, asked.samples)
        _compare_import(small, asked.rows)
        _measure_cells(asked.samples)
        _measure_memory(large, asked.samples)
        log = _read_in(large)
        _measure_windows(log)
        if not asked.no_browser:
            _measure_frames(log)


def _open_workshop(folder: Path) -> None:
    os.environ["CRANKMARK_DATA"] = str(folder / "data")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
    os.environ["ALLOWED_HOSTS"] = "localhost,testserver"
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # Playwright's loop runs in the thread that asks the book
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)


def write_log(file: Path, rows: int) -> None:
    """A log of six columns, a hundred samples a second: invented, wandering, with noise."""
    from tests.bench.bench_occupancy import drive

    t_s, rpm, vacuum, _ = drive(rows)
    t_s = np.round(np.arange(rows) / 100.0, 2)
    pressure = np.clip(100.0 - vacuum, 20.0, 100.0)
    table = np.column_stack([t_s, rpm, pressure, pressure, np.full(rows, 84.0), rpm / 60.0])
    with file.open("w") as opened:
        opened.write("time (s),rpm,MAP (kPa),throttle (%),coolant (°C),road speed (km/h)\n")
        np.savetxt(opened, table, fmt=["%.2f", "%.0f", "%.1f", "%.1f", "%.1f", "%.1f"], delimiter=",")


def _run() -> tuple[Any, Any]:
    """A run with a released map, and who drove."""
    from django.utils import timezone

    from garage.people.models import Role, Workshop
    from garage.record.actor import Actor
    from jobs.models import RoadRun
    from tests.factories import JobFactory, StaffFactory, WorkshopFactory
    from tests.jobs_factories import released_version

    if not Workshop.objects.exists():
        WorkshopFactory()
    name = uuid.uuid4().hex[:8]
    person = StaffFactory(name=f"Ines {name}", username=name, role=Role.MECHANIC)
    actor = Actor(person=person, at=timezone.now())
    job = JobFactory(stage="road-test")
    version = released_version(actor, job=job)
    run = RoadRun.objects.create(job=job, map_version=version, route="Quarry hill", driver=person, begun_at=actor.at)
    return run, actor


def _uploaded(file: Path) -> tuple[Any, Any]:
    from tests.roadlogs.conftest import confirmed, uploaded

    run, actor = _run()
    # Every round uploads the same rows as another file: a file is taken in once.
    return confirmed(uploaded(run, actor, file.read_bytes() + uuid.uuid4().hex.encode()), actor), actor


def _read_in(file: Path) -> Any:
    from jobs.roadlogs.importing import read_in

    log, _ = _uploaded(file)
    read_in(log_id=log.pk, tries=log.tries)
    log.refresh_from_db()
    assert log.is_ready, log.problem
    return log


def _compare_import(file: Path, rows: int) -> None:
    from jobs.roadlogs.importing import read_in

    taken: dict[str, list[float]] = {"numpy.loadtxt alone": [], "import": []}
    for _ in range(ROUNDS):
        log, _ = _uploaded(file)
        with _timed(taken["numpy.loadtxt alone"]):
            np.loadtxt(file, delimiter=",", skiprows=1)
        with _timed(taken["import"]):
            read_in(log_id=log.pk, tries=log.tries)
        log.refresh_from_db()
        assert (log.state, log.rows_read) == ("ready", rows), log.problem
    alone, ours = (min(times) for times in taken.values())
    print(f"{rows:,} rows of 6 columns, {file.stat().st_size / 1e6:.0f} MB, best of {ROUNDS} in turns")
    print(f"  numpy.loadtxt alone   {alone:6.2f} s")
    print(f"  import, whole         {ours:6.2f} s   {ours / alone:.2f} times (goal {GOALS['import']})")


@contextmanager
def _timed(into: list[float], clock: Callable[[], float] = time.perf_counter) -> Iterator[None]:
    begun = clock()
    yield
    into.append(clock() - begun)


def _measure_cells(samples: int) -> None:
    from tests.bench.bench_occupancy import GRID, drive
    from timing.roadlog import commanded_advance, occupancy

    run, _ = _run()
    total = run.map_version.delivered_map().total_advance()
    t_s, rpm, vacuum, _ = drive(samples)
    times: list[float] = []
    for _ in range(3):
        with _timed(times, time.process_time):
            advance = commanded_advance(total, rpm=rpm, vacuum=vacuum)
            occupancy(GRID, t_s, rpm=rpm, vacuum=vacuum, advance=advance)
    print(f"{samples:,} samples: commanded advance and cells {min(times):.2f} s of processor (goal {GOALS['cells_s']})")


def _measure_memory(file: Path, samples: int) -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "tests.bench.bench_road_log", "--only-read", str(file)],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    print(f"{samples:,} rows read in: {ended.stdout.strip()} (goal {GOALS['memory_mb']:.0f} MB)")


def _only_read(file: Path) -> None:
    from jobs.roadlogs.importing import read_in
    from tests.roadlogs import conftest

    run, actor = _run()

    def pieces() -> Iterator[bytes]:
        with file.open("rb") as opened:
            while piece := opened.read(64 * 1024):
                yield piece

    from jobs.roadlogs import actions, raw, shape

    with raw.received(pieces()) as received:
        log = actions.upload_log(
            run=run, received=received, file_name="log.csv", shape=shape.guessed(received.head),
            idempotency_key=uuid.uuid4(), actor=actor,
        )  # fmt: skip
    log = conftest.confirmed(log, actor)
    # What the process that began this one once had counts no longer.
    Path("/proc/self/clear_refs").write_text("5")
    before = _most_memory_mb()
    begun = time.perf_counter()
    read_in(log_id=log.pk, tries=log.tries)
    log.refresh_from_db()
    assert log.is_ready, log.problem
    print(f"{time.perf_counter() - begun:.1f} s, at most {_most_memory_mb():.0f} MB, {before:.0f} MB of it before")


def _most_memory_mb() -> float:
    """The most that was resident at once, as Linux counts it."""
    (line,) = (one for one in Path("/proc/self/status").read_text().splitlines() if one.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


def _client(log: Any) -> Any:
    from tests.signed_in import client_of

    return client_of(log.run.driver)


def _measure_windows(log: Any) -> None:
    from django.urls import reverse

    client, page = _client(log), reverse("roadlogs:window", args=[log.run.job.code, log.pk])
    for share in (1.0, 0.1, 0.01, 0.0005):
        length = log.duration_s * share
        times: list[float] = []
        for place in range(9):
            begin = (log.duration_s - length) * place / 9
            with _timed(times):
                answer = client.get(page, {"from": begin, "to": begin + length, "most": 3000})
            assert answer.status_code == 200
        middle, size = sorted(times)[len(times) // 2], len(answer.content) / 1000
        print(f"  window of {length:9.1f} s: {1000 * middle:5.0f} ms, {size:.0f} kB")


# What the browser does on an empty page, at the same load of the machine.
_BARE = """async (frames) => {
  const next = () => new Promise(requestAnimationFrame);
  const begun = await next();
  let now = begun;
  for (let i = 0; i < frames; i += 1) now = await next();
  return (1000 * frames) / (now - begun);
}"""

# Drags the line to and fro and zooms in and out, a step a frame, and counts the frames.
_MOVES = """async (frames) => {
  const canvas = document.querySelector("canvas");
  const box = canvas.getBoundingClientRect();
  const at = (type, x) => canvas.dispatchEvent(new PointerEvent(type, {
    pointerId: 1, button: 0, clientX: box.left + x, clientY: box.top + 200, bubbles: true }));
  canvas.setPointerCapture = () => {};
  const drawing = [];
  const ask = window.requestAnimationFrame.bind(window);
  window.requestAnimationFrame = (draws) => ask((at) => {
    const begun = performance.now();
    draws(at);
    drawing.push(performance.now() - begun);
  });
  const next = () => new Promise(ask);
  const press = (key) => canvas.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true }));
  for (let i = 0; i < 4; i += 1) press("+");
  await new Promise((done) => setTimeout(done, 500));
  at("pointerdown", 400);
  const took = [];
  let last = await next();
  for (let i = 0; i < frames; i += 1) {
    at("pointermove", 400 + 250 * Math.sin(i / 12));
    if (i % 60 === 30) press("+");
    if (i % 60 === 59) press("-");
    const now = await next();
    took.push(now - last);
    last = now;
  }
  at("pointerup", 400);
  took.sort((a, b) => a - b);
  drawing.sort((a, b) => a - b);
  const mean = took.reduce((sum, one) => sum + one, 0) / frames;
  return { rate: 1000 / mean, slow: took[Math.floor(frames * 0.99)],
    draws: drawing.slice(drawing.length / 2).at(0), slowDraws: drawing[Math.floor(drawing.length * 0.99)] };
}"""


def _measure_frames(log: Any) -> None:
    from django.conf import settings
    from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
    from django.core.wsgi import get_wsgi_application
    from django.urls import reverse
    from playwright.sync_api import sync_playwright

    from tests.chromium import PROGRAM

    class Silent(WSGIRequestHandler):
        def log_message(self, *_: Any) -> None:
            """Nothing: the console is for the figures."""

    page_url = reverse("roadlogs:log", args=[log.run.job.code, log.pk])
    cookie = _client(log).cookies[settings.SESSION_COOKIE_NAME].value
    server = ThreadedWSGIServer(("localhost", 0), Silent)
    server.set_app(get_wsgi_application())
    threading.Thread(target=server.serve_forever, daemon=True).start()
    base = f"http://localhost:{server.server_port}"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=PROGRAM, args=["--no-sandbox", "--disable-dev-shm-usage"])
        for name, size in (("desk", (1280, 900)), ("tablet", (820, 1180))):
            context = browser.new_context(viewport={"width": size[0], "height": size[1]}, base_url=base)
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": base}])
            page = context.new_page()
            bare = page.evaluate(_BARE, FRAMES)
            page.goto(page_url)
            page.locator("[data-time-line][data-ready]").wait_for()
            page.locator("canvas").scroll_into_view_if_needed()
            found = page.evaluate(_MOVES, FRAMES)
            print(
                f"  {name}: {found['rate']:.0f} frames a second (goal {GOALS['frames']:.0f}, "
                f"an empty page has {bare:.0f}), "
                f"99 of 100 within {found['slow']:.0f} ms; drawing one takes {found['draws']:.1f} ms, "
                f"99 of 100 within {found['slowDraws']:.1f} ms"
            )
            context.close()
        browser.close()
    server.shutdown()


if __name__ == "__main__":
    main()
