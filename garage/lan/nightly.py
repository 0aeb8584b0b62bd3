"""The backup of each night, made by a process of its own while the workshop is open."""

import subprocess
import sys
from collections.abc import Callable

from django.utils import timezone

from garage.backup.workshop import is_due
from garage.lan.server import ROOT, environment

AGAIN_AFTER = 60 * 60  # [seconds] a disk that is away may come back


class Nightly:
    """Asked now and then; starts a backup where one is due, and tells the console what came of it."""

    def __init__(self, say: Callable[[str], None], command: list[str] | None = None) -> None:
        self._say = say
        self._command = command or [sys.executable, str(ROOT / "manage.py"), "backup", "--prune"]
        self._running: subprocess.Popen[str] | None = None
        self._not_before = 0.0

    def look(self) -> None:
        if self._running is not None:
            self._hear()
        elif (now := timezone.now()).timestamp() >= self._not_before and is_due(now):
            self._running = subprocess.Popen(  # noqa: S603 - our own command
                self._command, env=environment(), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT, text=True, start_new_session=True,
            )  # fmt: skip

    def _hear(self) -> None:
        assert self._running is not None  # noqa: S101 - asked before
        if self._running.poll() is None:
            return
        said, _ = self._running.communicate()
        failed, self._running = self._running.returncode != 0, None
        if failed:
            self._not_before = timezone.now().timestamp() + AGAIN_AFTER
        self._say(f"{'The backup failed: ' if failed else 'Backup: '}{said.strip().splitlines()[-1] if said else ''}")
