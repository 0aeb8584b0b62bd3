"""The process that works in the background beside the server: started again whenever it ends, ended with it."""

import signal
import subprocess
import sys
import time
from collections.abc import Callable

from garage.lan.server import ROOT

COMMAND = [sys.executable, str(ROOT / "manage.py"), "work", "--with-its-parent"]
FIRST_PAUSE, LONGEST_PAUSE = 1.0, 60.0  # [seconds] before it is started again
# [seconds] One that lived so long did not end because it could not begin.
LIVED = 60.0


class Attendant:
    """`say` takes a line for the console each time it had to be started again."""

    def __init__(self, environment: dict[str, str], say: Callable[[str], None], command: list[str] = COMMAND) -> None:
        self._environment, self._say, self._command = environment, say, command
        self._process: subprocess.Popen[bytes] | None = None
        self._pause, self._began, self._not_before = FIRST_PAUSE, 0.0, 0.0

    def tend(self) -> None:
        """Start it where it does not run. Called often."""
        now = time.monotonic()
        if self._process is not None and self._process.poll() is not None:
            self._forget(self._process)
            self._pause = FIRST_PAUSE if now - self._began > LIVED else min(self._pause * 2, LONGEST_PAUSE)
            self._not_before = now + self._pause
            self._say(f"The background worker ended. It is started again in {self._pause:.0f} s.")
        if self._process is None and now >= self._not_before:
            self._began = now
            self._process = subprocess.Popen(  # noqa: S603 - our own interpreter with our own arguments
                self._command, env=self._environment, stdin=subprocess.PIPE, start_new_session=True
            )

    def send_the_end(self) -> None:
        if self._process is not None and self._process.poll() is None:
            self._process.send_signal(signal.SIGTERM)

    def end(self, by: float) -> None:
        """Wait until it has ended, at the latest until `by` on the monotonic clock. What it then has in hand waits."""
        if self._process is None:
            return
        try:
            self._process.wait(max(by - time.monotonic(), 0.1))
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._forget(self._process)

    def _forget(self, process: subprocess.Popen[bytes]) -> None:
        if process.stdin is not None:
            process.stdin.close()
        self._process = None
