"""gunicorn's own threaded worker against ours: ordinary pages, and pages while thirty connections stall.

Both serve the same folder in one run, in turns. Run: python -m tests.bench.bench_server
"""

import http.client
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

from tests.browser.real_server import ROOT

ASKERS, EACH, ROUNDS, STALLED, PATIENCE = 8, 25, 5, 30, 20.0
SERVERS = {
    "threads": ["--worker-class", "gthread", "--threads", "8", "--workers", "2", "--log-level", "error"],
    "ours": ["--config", "python:garage.lan.gunicorn_settings", "--log-level", "error"],
}


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


def asked(port: int, times: int = 1, timeout: float = PATIENCE) -> None:
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=timeout)) as connection:
        for _ in range(times):
            connection.request("GET", "/set-up/", headers={"Host": "localhost"})
            connection.getresponse().read()


def pages_a_second(port: int) -> float:
    began = time.perf_counter()
    with ThreadPoolExecutor(ASKERS) as askers:
        list(askers.map(lambda _: asked(port, EACH), range(ASKERS)))
    return ASKERS * EACH / (time.perf_counter() - began)


def seconds_beside_stalled(port: int) -> str:
    stalled = [socket.create_connection(("127.0.0.1", port)) for _ in range(STALLED)]
    try:
        for one in stalled:
            one.sendall(b"GET /hea")
        time.sleep(0.5)
        worst = 0.0
        for _ in range(10):
            began = time.perf_counter()
            try:
                asked(port)
            except TimeoutError:
                return f"somebody not served within {PATIENCE:.0f} s"
            worst = max(worst, time.perf_counter() - began)
        return f"the slowest of ten {worst:.2f} s"
    finally:
        for one in stalled:
            one.close()


def main() -> None:
    folder = Path(tempfile.mkdtemp(prefix="crankmark-bench-"))
    environment = {**os.environ, "CRANKMARK_DATA": str(folder)}
    for command in (["migrate", "-v0"], ["collectstatic", "--no-input", "-v0"]):
        subprocess.run([sys.executable, "manage.py", *command], cwd=ROOT, env=environment, check=True)
    ports = {name: free_port() for name in SERVERS}
    running = [
        subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "garage.lan.wsgi", "--bind", f"127.0.0.1:{ports[name]}", *more],
            cwd=ROOT, env=environment, stdin=subprocess.PIPE,
        )
        for name, more in SERVERS.items()
    ]  # fmt: skip
    try:
        for port in ports.values():
            until_open(port)
        rates: dict[str, list[float]] = {name: [] for name in SERVERS}
        for _ in range(ROUNDS):
            for name, port in ports.items():
                rates[name].append(pages_a_second(port))
        base = statistics.median(rates["threads"])
        for name, found in rates.items():
            rate = statistics.median(found)
            print(f"{name:>8}: {rate:6.1f} pages/s ({rate / base:.2f}), with {STALLED} stalled: ", end="", flush=True)
            print(seconds_beside_stalled(ports[name]))
    finally:
        for one in running:
            one.terminate()
        for one in running:
            one.wait()


def until_open(port: int) -> None:
    for _ in range(300):
        try:
            return asked(port)
        except OSError:
            time.sleep(0.2)
    raise SystemExit("it does not open")


if __name__ == "__main__":
    main()
