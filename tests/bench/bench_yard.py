"""What one bench carries, and what a yard of two web machines does: tablets that ask for a sheet, side by side.

Three ways in one run, in turns: one machine on SQLite, one on PostgreSQL, two on one PostgreSQL. Each asker is a tablet
that lies open on a sheet and asks again as soon as it was answered, so an asker stands for many real tablets, which ask
every few seconds. Run: python -m tests.bench.bench_yard
"""

import http.client
import os
import statistics
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path

from django.conf import settings

from tests.browser.yard import YardServer
from tests.postgres import thrown_away

ASKERS, SECONDS, ROUNDS = 8, 4.0, 3


@contextmanager
def yard(machines: int, database: str | None) -> Iterator[list[YardServer]]:
    shared = {"DATABASE_URL": database} if database else {}
    first = Path(tempfile.mkdtemp(prefix="crankmark-yard-"))
    made = [
        YardServer(
            first if n == 0 else Path(tempfile.mkdtemp(prefix="crankmark-yard-")),
            shared=shared,
            first=first,
        )
        for n in range(machines)
    ]
    scene = made[0].prepare("one_sheet")
    try:
        for each in made:
            each.scene = scene
            each.start()
        yield made
    finally:
        for each in made:
            each.stop()


def ask_on_and_on(machine: YardServer) -> list[float]:
    """How long each answer took, until the time is over."""
    took, until = [], time.perf_counter() + SECONDS
    cookie = f"{settings.SESSION_COOKIE_NAME}={machine.scene['sessions']['mechanic']}"
    with closing(http.client.HTTPConnection("127.0.0.1", machine.port, timeout=30)) as connection:
        while time.perf_counter() < until:
            began = time.perf_counter()
            connection.request(
                "GET", f"/jobs/{machine.scene['code']}/fitting/", headers={"Host": "localhost", "Cookie": cookie}
            )
            answer = connection.getresponse()
            answer.read()
            if answer.status != 200:
                raise SystemExit(f"answered {answer.status}")
            took.append(time.perf_counter() - began)
    return took


def measured(machines: list[YardServer]) -> tuple[float, float]:
    """Sheets a second, and within how many seconds 95 of 100 came."""
    with ThreadPoolExecutor(ASKERS) as askers:
        found = askers.map(ask_on_and_on, [machines[n % len(machines)] for n in range(ASKERS)])
        took = [each for one in found for each in one]
    return len(took) / SECONDS, statistics.quantiles(took, n=20)[-1]


def main() -> None:
    with thrown_away() as one_database, thrown_away() as another:
        if one_database is None or another is None:
            raise SystemExit("PostgreSQL or psycopg is not installed")
        with yard(1, None) as bench, yard(1, one_database) as single, yard(2, another) as two:
            ways = {"one machine, SQLite": bench, "one machine, PostgreSQL": single, "two machines, PostgreSQL": two}
            found: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
            for _ in range(ROUNDS):
                for name, machines in ways.items():
                    found[name].append(measured(machines))
    print(f"{os.cpu_count()} cores for everything, {ASKERS} askers, medians of {ROUNDS} rounds of {SECONDS:.0f} s")
    for name, rounds in found.items():
        rate, slow = (statistics.median(column) for column in zip(*rounds, strict=True))
        print(f"{name:>26}: {rate:6.1f} sheets/s, 95 of 100 within {1000 * slow:5.0f} ms")


if __name__ == "__main__":
    main()
