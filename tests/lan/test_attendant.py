"""The worker beside the server is started again when it ends, after a pause, and ends with the server."""

import signal
import sys
import time

import pytest

from garage.lan import attendant as room
from garage.lan.attendant import Attendant
from garage.lan.server import environment

LIVES = [sys.executable, "-c", "import signal; signal.signal(signal.SIGTERM, signal.SIG_DFL); signal.pause()"]
DEAF = [sys.executable, "-c", "import signal; signal.signal(signal.SIGTERM, signal.SIG_IGN); print(1); signal.pause()"]


@pytest.fixture
def attended():
    made = []

    def attend(command, said=None):
        made.append(Attendant(environment(), (said if said is not None else []).append, command))
        made[-1].tend()
        return made[-1]

    yield attend
    for each in made:
        each.end(time.monotonic())


def test_one_that_was_killed_is_started_again_and_the_console_hears_of_it(attended, monkeypatch):
    monkeypatch.setattr(room, "FIRST_PAUSE", 0.0)
    said = []
    attendant = attended(LIVES, said)
    first = attendant._process
    first.send_signal(signal.SIGKILL)
    first.wait()
    attendant._pause = 0.0
    attendant.tend()
    attendant.tend()
    assert attendant._process.pid != first.pid
    assert len(said) == 1


def test_one_that_cannot_begin_is_not_started_over_and_over(attended):
    said = []
    attendant = attended([sys.executable, "-c", "raise SystemExit(1)"], said)
    attendant._process.wait()
    for _ in range(20):
        attendant.tend()
    assert (attendant._process, said) == (None, ["The background worker ended. It is started again in 2 s."])


def test_it_ends_with_the_server(attended):
    attendant = attended(LIVES)
    process = attendant._process
    attendant.send_the_end()
    attendant.end(time.monotonic() + 20)
    assert process.returncode is not None


def test_one_that_does_not_listen_is_ended_all_the_same(attended):
    attendant = attended(DEAF)
    process = attendant._process
    attendant.send_the_end()
    attendant.end(time.monotonic() + 0.2)
    assert process.returncode is not None
