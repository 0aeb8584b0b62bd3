"""Runs the workshop's server and its trust page, looks after the certificate meanwhile, and ends both together."""

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import Protocol

ROOT = Path(__file__).resolve().parents[2]
# [seconds] The machine's addresses may change at any time; reading them costs next to nothing.
LOOK_EVERY = 60.0
# [seconds] Above gunicorn's own patience with requests that are still being answered.
PATIENCE = 15.0


class PartEndedError(Exception):
    """A server ended by itself."""


@dataclass(slots=True)
class Part:
    """One gunicorn: the open sockets it serves, in which environment, and with which certificate."""

    name: str
    doors: list[socket.socket]
    environment: dict[str, str]
    certificate: Path | None = None
    key: Path | None = None
    workers: int | None = None
    process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self.process = subprocess.Popen(  # noqa: S603 - our own interpreter with our own arguments
            [sys.executable, "-m", "gunicorn", "garage.lan.wsgi", *self._arguments()],
            env=self.environment,
            stdin=subprocess.PIPE,
            pass_fds=[door.fileno() for door in self.doors],
            # Ctrl-C reaches the command alone, which lets requests in hand be finished.
            start_new_session=True,
        )
        for door in self.doors:
            door.close()

    def _arguments(self) -> list[str]:
        arguments = ["--config", "python:garage.lan.gunicorn_settings", "--name", self.name]
        for door in self.doors:
            arguments += ["--bind", f"fd://{door.fileno()}"]
        if self.certificate:
            arguments += ["--certfile", str(self.certificate)]
        if self.key:
            arguments += ["--keyfile", str(self.key)]
        if self.workers:
            arguments += ["--workers", str(self.workers)]
        return arguments

    @property
    def is_running(self) -> bool:
        return self.process is not None and self.process.poll() is None

    def send(self, what: int) -> None:
        if self.process is not None and self.is_running:
            self.process.send_signal(what)

    def end(self, by: float) -> None:
        """Wait until it has ended, at the latest until `by` on the monotonic clock."""
        if self.process is None:
            return
        try:
            self.process.wait(max(by - time.monotonic(), 0.1))
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        if self.process.stdin is not None:
            self.process.stdin.close()


class Beside(Protocol):
    """A process that runs beside the parts, and whose end is not theirs."""

    def tend(self) -> None: ...

    def send_the_end(self) -> None: ...

    def end(self, by: float) -> None: ...


def environment(**more: str) -> dict[str, str]:
    """What a part inherits, with `more`; the code is found wherever the command was started from."""
    paths = [str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])]
    return {**os.environ, "PYTHONPATH": os.pathsep.join(paths), **more}


def serve(
    parts: list[Part],
    *,
    answers: Callable[[], bool],
    when_open: Callable[[], None],
    look: Callable[[], bool],
    attendants: Sequence[Beside] = (),
) -> None:
    """Start `parts`, call `when_open` once the workshop `answers`, and run until asked to end.

    `look` is called now and then; where it says that something changed, new workers take over from the old.
    `attendants` are looked after all the time, and end with the parts.

    Raises
    ------
    PartEndedError
        When a part ends by itself; the others are ended too.
    """
    with _asked_to_end() as asked, _ended_together(parts, attendants):
        for part in parts:
            part.start()
        is_open, next_look = False, time.monotonic() + LOOK_EVERY
        while not asked.wait(0.2):
            if not all(part.is_running for part in parts):
                raise PartEndedError
            for attendant in attendants:
                attendant.tend()
            if not is_open and answers():
                is_open = True
                when_open()
            if time.monotonic() >= next_look:
                next_look = time.monotonic() + LOOK_EVERY
                if look():
                    for part in parts:
                        part.send(signal.SIGHUP)


@contextmanager
def _asked_to_end() -> Iterator[threading.Event]:
    asked = threading.Event()

    def note(number: int, frame: FrameType | None) -> None:
        asked.set()

    before = {number: signal.signal(number, note) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield asked
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


@contextmanager
def _ended_together(parts: list[Part], attendants: Sequence[Beside]) -> Iterator[None]:
    try:
        yield
    finally:
        for part in parts:
            part.send(signal.SIGTERM)
        for attendant in attendants:
            attendant.send_the_end()
        by = time.monotonic() + PATIENCE
        for part in parts:
            part.end(by)
        for attendant in attendants:
            attendant.end(by)
