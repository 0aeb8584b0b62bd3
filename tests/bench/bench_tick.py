"""A tick against a bare view that writes one row behind the same middleware, and sixteen tablets at once.

Both views are served by the same two workers on SQLite, in turns, in one run: first to one tablet alone, then to
sixteen, each on a sheet of its own and at once again as soon as it was answered. A tick at the end of the longest list
that comes with Crankmark, behind all its hold points, stands beside them. Run: python -m tests.bench.bench_tick
"""

import http.client
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings

from tests.bench.bench_server import free_port, until_open
from tests.browser.real_server import ROOT, RealServer

TABLETS, SECONDS, ROUNDS, ALONE = 16, 5.0, 3, 60
TOKEN = "t" * 32
ITEMS = 8  # of each sheet of the scene


class Tablet:
    """Asks one of the two views, on a connection of its own."""

    def __init__(self, port: int, scene: dict[str, Any], number: int) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.scene, self.code, self.ticks = scene, scene["codes"][number], number
        self.items = [f"item-{n}" for n in range(ITEMS) if n % 2]
        self.headers = {
            "Host": "localhost",
            "Accept": "application/json",
            "Content-Type": "application/json",
            "X-CSRFToken": TOKEN,
            "Cookie": f"{settings.SESSION_COOKIE_NAME}={scene['sessions']['mechanic']}; csrftoken={TOKEN}",
        }

    def tick(self) -> float:
        self.ticks += 1
        now = datetime.now(UTC).isoformat()
        message = {
            "message": "entry", "id": str(uuid.uuid4()), "maker": self.scene["people"]["mechanic"],
            "item": self.items[self.ticks % len(self.items)], "madeAt": now, "sentAt": now, "outcome": "done",
        }  # fmt: skip
        return self.posted(f"/jobs/{self.code}/sheet/fitting/send/", json.dumps(message))

    def bare(self) -> float:
        return self.posted("/bare/", "{}")

    def posted(self, path: str, body: str) -> float:
        began = time.perf_counter()
        self.connection.request("POST", path, body, self.headers)
        answer = self.connection.getresponse()
        said = answer.read()
        if answer.status != 200:
            raise SystemExit(f"{path}: {answer.status} {said[:200]!r}")
        for given in answer.headers.get_all("Set-Cookie", []):  # the device's name, which any browser keeps
            self.headers["Cookie"] += "; " + given.partition(";")[0]
        return time.perf_counter() - began


def on_and_on(ask: Callable[[], float]) -> list[float]:
    took, until = [], time.perf_counter() + SECONDS
    while time.perf_counter() < until:
        took.append(ask())
    return took


def alone(tablet: Tablet, behind_all: Tablet) -> dict[str, float]:
    """Medians of what is asked in turns: a bare row, a tick, a tick behind all hold points of a whole list."""
    asked = {"bare": tablet.bare, "tick": tablet.tick, "whole": behind_all.tick}
    took: dict[str, list[float]] = {name: [] for name in asked}
    for _ in range(ALONE):
        for name, ask in asked.items():
            took[name].append(ask())
    return {name: statistics.median(found) for name, found in took.items()}


def together(tablets: list[Tablet], ask: Callable[[Tablet], float]) -> list[list[float]]:
    with ThreadPoolExecutor(len(tablets)) as hands:
        return list(hands.map(lambda tablet: on_and_on(lambda: ask(tablet)), tablets))


def shown(name: str, rounds: list[list[float]]) -> None:
    """The rounds of all tablets, and how much the worst served of them waited against the best served."""
    took = sorted(one for found in rounds for one in found)
    medians = [statistics.median(found) for found in rounds]
    print(
        f"{name:>6}: {len(took) / SECONDS / ROUNDS:6.1f} a second; median {1000 * statistics.median(took):6.0f} ms, "
        f"95 % within {1000 * took[int(0.95 * len(took))]:6.0f} ms, worst {1000 * took[-1]:6.0f} ms; "
        f"median of the worst served tablet {max(medians) / min(medians):.2f} times that of the best served"
    )


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
    server = RealServer(Path(tempfile.mkdtemp(prefix="crankmark-bench-")))
    scene = server.prepare("many_sheets")
    whole = server.prepare("whole_fitting_list")
    environment = {**os.environ, **server.environment}
    environment.pop("CRANKMARK_DEVELOPMENT")
    collect = [sys.executable, "manage.py", "collectstatic", "--no-input", "-v0"]
    subprocess.run(collect, cwd=ROOT, env=environment, check=True)
    port = free_port()
    running = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "tests.bench.bare_site:application", "--bind", f"127.0.0.1:{port}",
         "--workers", "2", "--config", "python:garage.lan.gunicorn_settings", "--log-level", "error"],
        cwd=ROOT, env=environment, stdin=subprocess.PIPE,
    )  # fmt: skip
    try:
        until_open(port)
        tablets = [Tablet(port, scene, number) for number in range(TABLETS)]
        for tablet in tablets:
            tablet.tick()
        behind_all = Tablet(port, scene, TABLETS)
        behind_all.code, behind_all.items = whole["code"], whole["items"]
        found = alone(tablets[0], behind_all)
        print(
            f" alone: a bare row {1000 * found['bare']:.1f} ms, a tick {1000 * found['tick']:.1f} ms "
            f"({found['tick'] / found['bare']:.2f} times), behind {whole['hold_points']} hold points "
            f"{1000 * found['whole']:.1f} ms ({found['whole'] / found['bare']:.2f} times)"
        )
        rounds: dict[str, list[list[float]]] = {name: [[] for _ in tablets] for name in ("bare", "tick")}
        for _ in range(ROUNDS):
            for name, ask in (("bare", Tablet.bare), ("tick", Tablet.tick)):
                for all_of_it, now in zip(rounds[name], together(tablets, ask), strict=True):
                    all_of_it += now
        for name, took in rounds.items():
            shown(name, took)
        for tablet in [*tablets, behind_all]:
            tablet.connection.close()
    finally:
        running.terminate()
        running.wait()


if __name__ == "__main__":
    main()
