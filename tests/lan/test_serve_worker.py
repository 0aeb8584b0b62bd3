"""`manage.py serve` keeps a worker for the background: killed, it is there again; ended, it is gone."""

import time

import psutil

from tests.browser.lan import LanServer
from tests.tables import lay_tables

PATIENCE = 60


def worker_of(server: LanServer) -> psutil.Process:
    deadline = time.monotonic() + PATIENCE
    while time.monotonic() < deadline:
        for child in psutil.Process(server.process.pid).children():
            if "work" in child.cmdline():
                return child
        time.sleep(0.1)
    raise AssertionError(server.said()[-2000:])


def test_a_killed_worker_is_started_again_and_it_ends_with_the_workshop(tmp_path):
    lay_tables(tmp_path)
    server = LanServer(tmp_path)
    server.with_worker = True
    try:
        server.start()
        first = worker_of(server)
        first.kill()
        first.wait(PATIENCE)
        second = worker_of(server)
        assert second.pid != first.pid
        assert "The background worker ended. It is started again" in server.said()
    finally:
        server.stop()
    second.wait(PATIENCE)
    assert not second.is_running()
